package hl7v2

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap"
	"runsheet.example/profiles"
)

// obx is what one OBX says.
type obx struct {
	code       string // OBX-3
	kind, text string // OBX-2 and OBX-5, escaped
	unit       *quantity
	absent     bool
	why        string // there is no value
	method     string // OBX-17
}

// device is a device for people and for OBX-18.
type device struct{ name, instance string }

// device keeps the name of a device for OBX-18.
func (w *writer) device(r *resource) {
	words := []string{}
	for _, n := range r.DeviceName {
		words = append(words, n.Name)
	}
	for _, v := range r.Version {
		words = append(words, v.Value)
	}
	if r.SerialNumber != "" {
		words = append(words, r.SerialNumber)
	}
	d := device{name: strings.Join(words, " ")}
	d.instance = escape(d.name) + "^" + authority("urn:uuid:"+r.Identity, "^")
	for _, reference := range []string{fhirmap.EntryURL(r.Identity), "urn:uuid:" + r.Identity, "Device/" + r.Identity} {
		w.devices[reference] = d
	}
}

// observation writes the value of an Observation, or its components, or both.
func (w *writer) observation(r *resource) {
	var list []obx
	about := r.Code.Text
	o, own := r.obx(r.Code.coded(r.Role, r.Code.Text))
	if r.Method != nil && len(r.Method.Coding) > 0 {
		o.method = r.Method.coded("", "")
		about = "Input of: " + about
	}
	if own {
		list = append(list, o)
	}
	for _, c := range r.Component {
		o, _ := c.obx(c.Code.coded("", about))
		list = append(list, o)
	}
	for i, o := range list {
		w.write(r, o)
		if i == 0 {
			w.about(r)
		}
	}
}

// about writes the notes on an Observation.
func (w *writer) about(r *resource) {
	if start, end := r.when(); end != "" && (start != w.start || end != w.end) {
		w.say(start+" to ", end)
	}
	for _, i := range r.Interpretation {
		w.say("Result: ", i.words())
	}
	for _, p := range r.Performer {
		if !r.laboratory() {
			w.say("By: ", p.Display)
		}
	}
	for _, e := range r.Extension {
		w.say("Position: ", e.ValueConcept.words())
	}
	if r.laboratory() && len(r.Category) > 1 {
		w.note(r.Category[1].words())
	}
	if r.Method != nil {
		w.say("Method: ", r.Method.Text)
	}
	for _, n := range r.Note {
		w.note(n.Text)
	}
}

func (r *resource) laboratory() bool {
	return len(r.Category) > 0 && len(r.Category[0].Coding) > 0 && r.Category[0].Coding[0].Code == string(profiles.Laboratory)
}

// obx is a value; false if there is none, nor a reason why not.
func (v *value) obx(code string) (obx, bool) {
	o := obx{code: code}
	switch {
	case v.ValueQuantity != nil:
		return v.ValueQuantity.obx(code), true
	case v.ValueInteger != "":
		o.kind, o.text = "NM", v.ValueInteger.String()
	case v.ValueConcept != nil:
		o.kind, o.text = "CWE", v.ValueConcept.value()
	case v.ValueString != nil:
		o.kind, o.text = textType(*v.ValueString), escape(*v.ValueString)
	default:
		o.absent, o.why = true, v.DataAbsentReason.words()
		return o, v.DataAbsentReason != nil
	}
	return o, true
}

func (q *quantity) obx(code string) obx {
	if q.Value == "" {
		o := obx{code: code, absent: true}
		for _, e := range q.Extension {
			o.why = e.ValueCode
		}
		return o
	}
	if q.Comparator != "" {
		return obx{code: code, kind: "SN", text: q.Comparator + "^" + q.Value.String(), unit: q}
	}
	return obx{code: code, kind: "NM", text: q.Value.String(), unit: q}
}

// write writes an OBX, and keeps its key.
func (w *writer) write(r *resource, o obx) {
	w.obx++
	w.nte = 0
	fields := make([]string, 19)
	fields[0], fields[1], fields[2], fields[3], fields[5] = "OBX", strconv.Itoa(w.obx), o.kind, o.code, o.text
	fields[4] = w.group(r, o.code)
	if o.unit != nil {
		fields[6] = components(escape(o.unit.Code), escape(o.unit.Unit), "UCUM")
	}
	fields[11] = w.letter(r, o)
	start, end := r.when()
	fields[14] = timestamp(cmp.Or(start, end))
	if r.laboratory() && len(r.Performer) > 0 {
		fields[15] = components("", escape(r.Performer[0].Display))
	}
	fields[17] = o.method
	if r.Device != nil {
		fields[18] = w.devices[r.Device.Reference].instance
	}
	w.body.WriteString(segment(fields...) + "\r")
	w.say("No value: ", o.why)
	w.keys[r.Identity] = append(w.keys[r.Identity], identified(o.code)+"|"+fields[4])
}

// group is OBX-4. Components of an Observation with one code are counted.
func (w *writer) group(r *resource, code string) string {
	group := strings.ReplaceAll(r.Identity, "-", "")[:16]
	if r.Reading > 0 {
		group = strconv.Itoa(r.Reading)
	}
	out := group
	for n := 2; slices.Contains(w.keys[r.Identity], identified(code)+"|"+out); n++ {
		out = group + "." + strconv.Itoa(n)
	}
	return out
}

// identified is the code and system of a coded field.
func identified(field string) string {
	parts := append(strings.Split(field, "^"), "", "", "")
	if parts[0] == "" { // a name that nobody coded
		return components(parts[0], parts[1], parts[2])
	}
	return components(parts[0], "", parts[2])
}

// letter is OBX-11.
func (w *writer) letter(r *resource, o obx) string {
	switch {
	case o.absent:
		return "X"
	case r.Status == "preliminary" || r.Status == "unknown":
		return "P"
	case w.Later != nil && w.Later.Corrected[r.Identity]:
		return "C"
	default:
		return "F"
	}
}

// withdrawn writes the segments of the message before that this one no longer
// has: of values that are gone, or that have another code now.
func (w *writer) withdrawn() {
	if w.Later == nil {
		return
	}
	have := map[string]bool{}
	for _, keys := range w.keys {
		for _, key := range keys {
			have[key] = true
		}
	}
	for _, before := range w.Later.Before {
		for _, key := range before.Keys {
			code, sub, isValue := strings.Cut(key, "|")
			if !isValue || have[key] {
				continue
			}
			w.obx++
			w.nte = 0
			fields := make([]string, 12)
			fields[0], fields[1], fields[3], fields[4], fields[11] = "OBX", strconv.Itoa(w.obx), code, sub, "D"
			w.body.WriteString(segment(fields...) + "\r")
			have[key] = true
		}
	}
}
