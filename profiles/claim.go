package profiles

import (
	"fmt"
	"net/url"
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
	ProfileSummary        Profile = "runsheet-summary"
	ProfileAttendance     Profile = "runsheet-attendance"
	ProfileReport         Profile = "runsheet-report"
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
