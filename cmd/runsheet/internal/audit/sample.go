package audit

import (
	"bytes"
	"cmp"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/validate/doc"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
	"runsheet.example/validate/resources"
)

// Drawn is a session that was drawn, to be compared with what the patient wrote.
type Drawn struct {
	Session string  `json:"session"` // identity
	Day     string  `json:"day"`
	Patient string  `json:"patient"`
	File    string  `json:"file"`
	Entries []Entry `json:"entries"`

	order []byte
}

// Entry is a value of the record with the log cells it was made from.
type Entry struct {
	What  string       `json:"what"`
	Value string       `json:"value"`
	Cells []issue.Cell `json:"cells"`
}

// draw keeps the sessions whose HMAC under the seed is smallest: whoever names
// the seed beforehand cannot choose them, and anybody can draw them again.
type draw struct {
	most int
	seed []byte
	all  []Drawn
	from map[string]bool // the sessions drawn from
}

func newDraw(most int, seed string) *draw {
	return &draw{most: most, seed: []byte(seed), from: map[string]bool{}}
}

func (d *draw) add(one Drawn) {
	d.from[one.Session] = true
	h := hmac.New(sha256.New, d.seed)
	h.Write([]byte(one.Session))
	one.order = h.Sum(nil)
	const often = 4
	if d.all = append(d.all, one); len(d.all) > often*d.most {
		d.cut()
	}
}

// cut keeps the first sessions, each once.
func (d *draw) cut() {
	slices.SortFunc(d.all, func(a, b Drawn) int { return cmp.Or(bytes.Compare(a.order, b.order), strings.Compare(a.File, b.File)) })
	d.all = slices.CompactFunc(d.all, func(a, b Drawn) bool { return a.Session == b.Session })
	d.all = d.all[:min(len(d.all), d.most)]
}

// sessions returns the drawn sessions with their values and cells.
func (d *draw) sessions() ([]Drawn, error) {
	d.cut()
	for i := range d.all {
		if err := d.all[i].read(); err != nil {
			return nil, err
		}
	}
	return d.all, nil
}

// read reads the values of a session, and their cells from the manifest.
func (s *Drawn) read() error {
	cells, err := s.cells()
	if err != nil {
		return err
	}
	text, err := os.ReadFile(s.File)
	if err != nil {
		return err
	}
	var d doc.Doc
	d.Parse(text, s.File)
	var rec resources.Index
	rec.Read(&d)
	for i := range rec.Resources {
		res := &rec.Resources[i]
		at := cells[strings.TrimPrefix(string(res.Identity), "urn:uuid:")]
		if value := written(&d, res); len(at) > 0 && value != "" {
			s.Entries = append(s.Entries, Entry{What: label(&d, res), Value: value, Cells: at})
		}
	}
	return nil
}

// cells are the cells of each resource of the file, by its id, except those of
// values that were computed.
func (s *Drawn) cells() (map[string][]issue.Cell, error) {
	out := map[string][]issue.Cell{}
	f, err := os.Open(filepath.Join(filepath.Dir(s.File), manifest.Name))
	if err != nil {
		return out, nil // without a manifest nothing says where a value came from
	}
	defer f.Close()
	err = manifest.Scan(f, func(p manifest.Part) error {
		var file manifest.File
		if p.Member != "bundles" || !p.Element || json.Unmarshal(p.Value, &file) != nil || file.File != filepath.Base(s.File) {
			return nil
		}
		for _, r := range file.Resources {
			if !strings.HasPrefix(r.Role, "computed:") {
				out[r.ID] = r.Cells
			}
		}
		return nil
	})
	return out, err
}

func label(d *doc.Doc, res *resources.Resource) string {
	for _, name := range []string{"code", "medicationCodeableConcept", "type"} {
		if text := d.Str(d.Get(d.Get(res.Node, name), "text")); len(text) > 0 {
			return string(text)
		}
	}
	if res.Row != nil {
		return res.Row.Text
	}
	return res.Type
}

// written is the value of a resource as written, "" if it has none that a log
// shows.
func written(d *doc.Doc, res *resources.Resource) string {
	switch res.Type {
	case "Observation":
		out := []string{observed(d, res.Node)}
		for c := d.FirstChild(res.Component); c != doc.None; c = d.Next(c) {
			out = append(out, observed(d, c))
		}
		return strings.Trim(strings.Join(out, " / "), " /")
	case "Procedure":
		out := []string{string(d.Str(res.Status)), string(d.Str(d.Get(d.Get(res.Node, "statusReason"), "text"))), string(d.Str(res.Effective))}
		if d.Kind(res.Effective) == doc.Object {
			out[2] = string(d.Str(d.Get(res.Effective, "start"))) + " to " + string(d.Str(d.Get(res.Effective, "end")))
		}
		return strings.Join(slices.DeleteFunc(out, func(text string) bool { return text == "" }), ", ")
	case "MedicationAdministration":
		return quantity(d, d.Get(d.Get(res.Node, "dosage"), "dose"))
	}
	return ""
}

// observed is the value of an Observation or of a component.
func observed(d *doc.Doc, n doc.Node) string {
	for _, name := range []string{"valueQuantity", "valueCodeableConcept", "valueString", "valueInteger", "valueBoolean", "valueDateTime"} {
		switch v := d.Get(n, name); {
		case v == doc.None:
		case name == "valueQuantity":
			return quantity(d, v)
		case name == "valueCodeableConcept":
			return string(d.Str(d.Get(v, "text")))
		default:
			return strings.Trim(string(d.Raw(v)), `"`)
		}
	}
	return ""
}

func quantity(d *doc.Doc, n doc.Node) string {
	return strings.TrimSpace(string(d.Raw(d.Get(n, "value"))) + " " + string(d.Str(d.Get(n, "unit"))))
}
