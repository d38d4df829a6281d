package profiles

import (
	"fmt"
	"net/url"
	"slices"
	"strings"
)

// Profile is the id of one of our profiles; its StructureDefinition is in the
// package.
type Profile string

// The profiles. Every resource we write fits exactly one.
const (
	ProfileSession        Profile = "runsheet-session"
	ProfileWeight         Profile = "runsheet-weight"
	ProfileBloodPressure  Profile = "runsheet-blood-pressure"
	ProfilePulse          Profile = "runsheet-pulse"
	ProfileTemperature    Profile = "runsheet-temperature"
	ProfileMachineReading Profile = "runsheet-machine-reading"
	ProfileTotal          Profile = "runsheet-total"
	ProfileClinicValue    Profile = "runsheet-clinic-value"
	ProfileRecoveryTime   Profile = "runsheet-recovery-time"
	ProfileLaboratory     Profile = "runsheet-laboratory"
	ProfileEvent          Profile = "runsheet-event"
	ProfileCheck          Profile = "runsheet-check"
	ProfileComputed       Profile = "runsheet-computed"
	ProfileDosePanel      Profile = "runsheet-dose-panel"
	ProfileWeekValue      Profile = "runsheet-week-value"
	ProfileWeek           Profile = "runsheet-week"
	ProfileWeeks          Profile = "runsheet-weeks"
	ProfileMedicine       Profile = "runsheet-medicine"
	ProfileDevice         Profile = "runsheet-device"
	ProfileProvenance     Profile = "runsheet-provenance"
	ProfileTransaction    Profile = "runsheet-transaction"
)

// DefaultCanonical is the base of every canonical URL of the package until a
// publisher sets its own.
const DefaultCanonical = "https://runsheet.example/fhir"

// URL is the canonical URL of the profile under a base.
func (p Profile) URL(base string) string { return base + "/StructureDefinition/" + string(p) }

// HL7 R4 vital-signs codes whose profile is not decided by the category alone.
const (
	codeHeartRate       = "8867-4"
	codeBodyTemperature = "8310-5"
)

// Entered returns the profile of an Observation whose value a person entered,
// "" for a row that is only ever computed. A computed value has
// [ProfileComputed] whatever its row.
func Entered(m Measurement) Profile {
	switch {
	case m.Principal() == bodyWeight:
		return ProfileWeight
	case m.Principal().Code == codeHeartRate:
		return ProfilePulse
	case m.Principal().Code == codeBodyTemperature:
		return ProfileTemperature
	case m.Category == Laboratory:
		return ProfileLaboratory
	case m.Category == Survey:
		return ProfileRecoveryTime
	case strings.HasPrefix(m.Field, "check_"):
		return ProfileCheck
	case m.Units == nil:
		return ProfileEvent
	case slices.Contains(clinicValues, m.Field):
		return ProfileClinicValue
	case slices.Contains(totals, m.Field):
		return ProfileTotal
	case slices.Contains(readings, m.Field):
		return ProfileMachineReading
	default:
		return ""
	}
}

// Fields of category procedure by what their value is.
var (
	clinicValues = []string{"dry_weight"}
	totals       = []string{
		"uf_goal", "uf_removed", "drinks", "saline", "rinseback", "urine",
		"dialysate_volume", "blood_processed", "treated_time",
	}
	readings = []string{
		"dialysate_sodium", "dialysate_potassium", "dialysate_calcium", "dialysate_bicarbonate", "dialysate_lactate",
		"blood_flow", "dialysate_flow", "arterial_line_pressure", "venous_line_pressure", "transmembrane_pressure",
		"uf_rate", "uf_so_far", "dialysate_conductivity", "dialysate_temperature",
	}
)

// CheckCanonical reports why a text cannot be the base of canonical URLs: an
// http or https URL without query, fragment or slash at the end, of the
// characters that need no escaping in a URL or in JSON (FHIR R4, canonical).
func CheckCanonical(base string) error {
	u, err := url.Parse(base)
	switch {
	case err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http":
		return fmt.Errorf("canonical base %q: expected a URL such as %s", base, DefaultCanonical)
	case u.RawQuery != "" || u.ForceQuery || strings.ContainsAny(base, "#|"):
		return fmt.Errorf("canonical base %q: a canonical has no query, fragment or version", base)
	case strings.HasSuffix(base, "/"):
		return fmt.Errorf("canonical base %q: leave out the slash at the end", base)
	case strings.ContainsFunc(base, func(r rune) bool { return r <= ' ' || r > '~' || strings.ContainsRune(`"\<>`, r) }):
		return fmt.Errorf("canonical base %q: write it with the characters of a URL only", base)
	default:
		return nil
	}
}
