package month

import (
	"strconv"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/record"
)

// version says of a resource which of several versions of one identity it is,
// as far as can be told: whether it is a later one, and a hash of what names it.
type version uint64

// isLater marks a version that took the place of another.
const isLater version = 1

// version reads it. A resource is a later version when its status says so (FHIR
// R4 4.0.1 ObservationStatus: amended, corrected, entered-in-error), when its
// entry updates one that is there (a condition, or the version it replaces),
// or when a server counts it as its second or more.
func (a *adder) version(res *record.Resource) version {
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

func conditional(d *doc.Doc, res *record.Resource) bool {
	for _, b := range d.Str(res.RequestURL) {
		if b == '?' {
			return true
		}
	}
	return false
}

// successive reports whether two resources of one identity and other content
// are surely two versions: one took the place of the other, or both have names
// that differ.
func successive(a, b version) bool {
	nameA, nameB := a&^isLater, b&^isLater
	return a&isLater != b&isLater || nameA != 0 && nameB != 0 && nameA != nameB
}
