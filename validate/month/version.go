package month

import (
	"strconv"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/resources"
)

// version distinguishes versions of one identity as far as possible: whether
// it is a later version, and a hash of its names.
type version uint64

// isLater marks a version that replaces another.
const isLater version = 1

// version reads the version of a resource. A resource is a later version if
// its status is amended, corrected or entered-in-error (FHIR R4 4.0.1
// ObservationStatus), if its entry updates an existing resource (by a
// condition, or by the version it replaces), or if a server counts it as
// version two or higher.
func (a *adder) version(res *resources.Resource) version {
	d := a.d
	name := d.Str(d.Get(res.Meta, "versionId"))
	count, _ := strconv.ParseUint(string(name), 10, 31)
	later := count > 1
	switch string(d.Str(res.Status)) {
	case "amended", "corrected", "entered-in-error":
		later = true
	}
	if d.Is(res.RequestMethod, "PUT") {
		replaced := d.Str(d.Get(res.Request, "ifMatch"))
		later = later || len(replaced) > 0 || conditional(d, res)
		if len(name) == 0 {
			name = replaced
		}
	}
	var v version
	if len(name) > 0 {
		v = version(a.hash(name)) &^ isLater
	}
	if later {
		v |= isLater
	}
	return v
}

func conditional(d *doc.Doc, res *resources.Resource) bool {
	for _, b := range d.Str(res.RequestURL) {
		if b == '?' {
			return true
		}
	}
	return false
}

// successive reports whether two resources with one identity and different
// content are certainly two versions: one replaces the other, or both have
// different version names.
func successive(a, b version) bool {
	nameA, nameB := a&^isLater, b&^isLater
	return a&isLater != b&isLater || nameA != 0 && nameB != 0 && nameA != nameB
}
