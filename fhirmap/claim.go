package fhirmap

import (
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/profiles"
)

// claim writes our own profile into meta.profile, on request only: a server
// without the package treats an unknown profile as an error.
func (m *mapper) claim(resource any, role string) {
	profile := profileOf(resource, role)
	if m.opts.ClaimProfiles == "" || profile == "" {
		return
	}
	meta := metaOf(resource) // HL7's own profile stays the first
	meta.Profile = append(meta.Profile, profile.URL(m.opts.ClaimProfiles))
}

// profileOf selects the profile of a resource; a Patient has none.
func profileOf(resource any, role string) profiles.Profile {
	switch r := resource.(type) {
	case *r4.Procedure:
		return profiles.ProfileSession
	case *r4.Observation:
		return observationProfile(r, role)
	case *r4.DiagnosticReport:
		return profiles.ProfileReport
	case *r4.MedicationAdministration:
		return profiles.ProfileMedicine
	case *r4.Device:
		return profiles.ProfileDevice
	case *r4.Provenance:
		return profiles.ProfileProvenance
	}
	return ""
}

// observationProfile selects the profile of an Observation by its role, and
// then by its principal code.
func observationProfile(o *r4.Observation, role string) profiles.Profile {
	switch {
	case role == RoleWeeks:
		return profiles.ProfileWeeks
	case role == roleWeek:
		return profiles.ProfileWeek
	case strings.HasPrefix(role, roleAttendance):
		return profiles.ProfileAttendance
	case strings.HasPrefix(role, roleSummary):
		return profiles.ProfileSummary
	case strings.HasPrefix(role, roleComputed) && o.PartOf == nil:
		return profiles.ProfileWeekValue
	case strings.HasPrefix(role, roleComputed):
		return profiles.ProfileComputed
	}
	if len(o.Code.Coding) == 0 {
		return profiles.ProfileLaboratory // the only one that may have only a display
	}
	principal := o.Code.Coding[0]
	switch *principal.Code {
	case profiles.AdequacyPanel.Code:
		return profiles.ProfileDosePanel
	case profiles.PressurePanel.Code:
		return profiles.ProfileBloodPressure
	}
	rows := profiles.ByCode(*principal.System, *principal.Code)
	if len(rows) == 0 {
		return ""
	}
	return rows[0].Profile
}
