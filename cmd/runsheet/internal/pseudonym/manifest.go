package pseudonym

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"

	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// copyManifest writes the manifest of a copy. It lists what the manifest of the
// source lists, so that a resource that is missing there is missing here, too;
// a file that is not the one listed is an error, since its copy would be.
func (f *folder) copyManifest() error {
	text, err := fs.ReadFile(f.from, path.Join(f.dir, manifest.Name))
	if err != nil {
		return err
	}
	var m manifest.Manifest
	if err := json.Unmarshal(text, &m); err != nil {
		return err
	}
	if m.Options.CodesOnly {
		return fmt.Errorf("the codes were replaced by a receiver's (export --codes-only), who would be known by them: export without that")
	}
	days := f.offset(f.patient)
	files := m.Files
	m.Files = nil
	for _, file := range files {
		w, copied := f.written[file.File]
		if copied && w.source != file.SHA256 {
			return fmt.Errorf("%s is not the file that the manifest lists; see what 'runsheet audit' says", file.File)
		}
		if !copied && !slices.Contains(f.others, file.File) && !slices.Contains(f.names, file.File) {
			return fmt.Errorf("%s is listed and not there; see what 'runsheet audit' says", file.File)
		}
		if copied {
			m.Files = append(m.Files, f.file(file, w))
		}
	}
	f.about(&m, days)
	for i := range m.LeftOut {
		m.LeftOut[i] = f.heldBack(m.LeftOut[i], days)
	}
	for i := range m.Expected {
		m.Expected[i].From, _ = shift(m.Expected[i].From, days)
	}
	m.Root = manifest.Root(m.Files)
	out, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return err
	}
	if err := explained(text, out, m.Rules); err != nil {
		return err
	}
	to, err := f.to.Create(path.Join(f.place, manifest.Name))
	if err != nil {
		return err
	}
	if _, err := to.Write(append(out, '\n')); err != nil {
		return err
	}
	return to.Close()
}

// about changes what the manifest says of the whole export. A copy is for
// oneself, so that it is never sent.
func (f *folder) about(m *manifest.Manifest, days int) {
	o := m.Options
	m.Options = manifest.Options{Format: o.Format, CreatePatient: o.CreatePatient, NoComputed: o.NoComputed, NoNotes: true, Series: ours(o.Series), Provenance: ours(o.Provenance), Display: ours(o.Display)}
	if o.Patient != "" {
		m.Options.Patient = f.name(o.Patient)
	}
	m.Tool = manifest.Tool{Name: ours(m.Tool.Name), Version: version.FindString(m.Tool.Version)}
	m.Log = manifest.Log{ID: f.name(m.Log.ID), ForOneself: true, TimeZone: "UTC", Sources: []manifest.Source{}}
	if m.Period != nil {
		m.Period.From, _ = shift(m.Period.From, days)
		m.Period.To, _ = shift(m.Period.To, days)
	}
	if m.Bulk == nil {
		return
	}
	m.TransactionTime, _ = shift(m.TransactionTime, days)
	m.Request, m.Error = f.name(m.Request), []manifest.BulkFile{}
	output := m.Output
	m.Output = []manifest.BulkFile{}
	for _, o := range output {
		if w, copied := f.written[o.URL]; copied {
			m.Output = append(m.Output, manifest.BulkFile{Type: ours(o.Type), URL: w.name, Count: w.documents})
		}
	}
}

var (
	version  = regexp.MustCompile(`^\d+(\.\d+)*`)
	roleName = regexp.MustCompile(`^[a-z_]+`)
)

// ours is a text if it is a word of the tables.
func ours(text string) string {
	if known().has(text) {
		return text
	}
	return ""
}

func (f *folder) file(file manifest.File, w written) manifest.File {
	out := manifest.File{File: w.name, SHA256: w.digest, Session: f.session(file.Session), Status: ours(file.Status)}
	for _, r := range file.Resources {
		if f.gone.has([]byte(r.ID)) || r.FullURL != "" && f.gone.has([]byte(r.FullURL)) {
			continue
		}
		made := manifest.Resource{Type: ours(r.Type), ID: f.name(r.ID), Role: role(r.Role)}
		if r.FullURL != "" {
			made.FullURL = f.name(r.FullURL)
		}
		out.Resources = append(out.Resources, made)
	}
	return out
}

// role is the role of a resource without the name or the days that may end it.
func role(text string) string {
	kind, rest, _ := strings.Cut(text, ":")
	quantity, method, _ := strings.Cut(rest, ":")
	if kind == "computed" && known().methods[method] != "" {
		return kind + ":" + roleName.FindString(quantity) + ":" + method
	}
	return roleName.FindString(kind)
}

// session is the name of a session, which the patient may have given.
func (f *folder) session(text string) string {
	if text == "" || slices.Contains(kinds, text) {
		return text
	}
	return f.uuid("session", f.patient+"\x00"+text)
}

func (f *folder) heldBack(left manifest.LeftOut, days int) manifest.LeftOut {
	left.Date, _ = shift(left.Date, days)
	left.Session, left.Cell = f.session(left.Session), issue.Cell{}
	left.Rules = slices.DeleteFunc(left.Rules, func(id string) bool { return !bytes.Contains([]byte(id), []byte("-")) || ours(id) == "" })
	return left
}
