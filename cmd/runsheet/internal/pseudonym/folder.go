package pseudonym

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/profiles"
	"runsheet.example/validate/doc"
	"runsheet.example/validate/manifest"
)

// folder is one folder with records.
type folder struct {
	secret
	opts    Options
	report  *Report
	from    fs.FS
	to      *output.Folder
	dir     string   // in from
	place   string   // in to
	listed  bool     // it has a manifest of ours
	names   []string // of files with records
	others  []string // of other files
	patient string   // the first patient that a record names
	gone    set      // names of resources that the copy does not have
	written map[string]written
}

// written is a file of the copy.
type written struct {
	name           string
	source, digest string // SHA-256
	documents      int
}

// copyFolder copies the records of one folder, and its manifest.
func (f *folder) copyFolder(ctx context.Context) error {
	if err := f.look(ctx); err != nil {
		return err
	}
	for _, name := range f.names {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := f.copyFile(name); err != nil {
			return fmt.Errorf("%s: %w", path.Join(f.dir, name), err)
		}
	}
	if len(f.written) > 0 {
		f.report.Exports++
	}
	if !f.listed {
		return nil
	}
	if err := f.copyManifest(); err != nil {
		return fmt.Errorf("%s: %w", path.Join(f.dir, manifest.Name), err)
	}
	return nil
}

// documents calls each for every document of a file, one at a time.
// All bytes of the file go to whole as well.
func (f *folder) documents(name string, whole io.Writer, each func(d *doc.Doc, data []byte) error) error {
	opened, err := f.from.Open(path.Join(f.dir, name))
	if err != nil {
		return err
	}
	defer opened.Close()
	file := io.TeeReader(opened, whole)
	var d doc.Doc
	one := func(data []byte) error {
		if faults := d.Parse(data, name); len(faults) > 0 {
			return fmt.Errorf("it is not JSON as FHIR has it (%s); nothing was copied: see what 'runsheet validate' says", faults[0].Rule)
		}
		return each(&d, data)
	}
	if strings.EqualFold(path.Ext(name), ".json") {
		data, err := io.ReadAll(file)
		if err != nil {
			return err
		}
		return one(data)
	}
	lines := bufio.NewReaderSize(file, 1<<16)
	for {
		line, err := lines.ReadBytes('\n')
		if line = bytes.TrimSpace(line); len(line) > 0 {
			if err := one(line); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// look finds the first patient of the folder and, of somebody of the age that is
// asked for, what was computed from the age.
func (f *folder) look(ctx context.Context) error {
	for before := -1; before != len(f.gone); {
		before = len(f.gone)
		for _, name := range f.names {
			err := f.documents(name, io.Discard, func(d *doc.Doc, _ []byte) error {
				if f.patient == "" {
					f.patient, _ = patientOf(d)
				}
				if f.opts.TopAge > 0 {
					f.fromAge(d)
				} else if f.patient != "" {
					return fs.SkipAll
				}
				return ctx.Err()
			})
			if errors.Is(err, fs.SkipAll) {
				return nil
			}
			if err != nil {
				return fmt.Errorf("%s: %w", path.Join(f.dir, name), err)
			}
		}
	}
	return nil
}

// patientOf is the identifier of the patient of a document, as system|value, or
// else a reference, "" if none is named. Two patients have two offsets, so that
// no document can be of both.
func patientOf(d *doc.Doc) (string, error) {
	var identifiers, references []string
	add := func(list *[]string, text string) {
		if text != "" && !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	for n := doc.Node(0); int(n) < d.Len(); n++ {
		key := string(d.Key(n))
		subject := d.Kind(n) == doc.Object && (key == "subject" || key == "patient")
		if !subject && !d.Is(d.Get(n, "resourceType"), "Patient") {
			continue
		}
		identifier := d.Get(n, "identifier")
		if d.Kind(identifier) == doc.Array {
			for identifier = d.FirstChild(identifier); d.Is(d.Get(identifier, "system"), profiles.RecordIdentifier) && d.Next(identifier) != doc.None; {
				identifier = d.Next(identifier)
			}
		}
		if value := d.Str(d.Get(identifier, "value")); len(value) > 0 {
			add(&identifiers, string(d.Str(d.Get(identifier, "system")))+"|"+string(value))
		} else if text := string(d.Str(d.Get(n, "reference"))); strings.HasPrefix(text, "Patient?identifier=") {
			add(&identifiers, strings.TrimPrefix(text, "Patient?identifier="))
		} else if !strings.HasPrefix(text, "urn:uuid:") && !strings.HasPrefix(text, "#") {
			add(&references, text)
		}
	}
	all := identifiers
	if len(all) == 0 {
		all = references
	}
	switch len(all) {
	case 0:
		return "", nil
	case 1:
		return all[0], nil
	}
	return "", errors.New("it names more than one patient, whose dates are shifted apart")
}

// fromAge adds the names of what was computed from an age that is asked for: of
// Observations that state it, of those derived from them, and of the urea model,
// whose body water shows the age.
func (f *folder) fromAge(d *doc.Doc) {
	root := d.Root()
	one := func(resource, entry doc.Node) {
		if d.Is(d.Get(resource, "resourceType"), "Observation") && f.rests(d, resource) {
			f.gone.leaveOut(d, resource, entry)
		}
	}
	one(root, doc.None)
	for entry := d.FirstChild(d.Get(root, "entry")); entry != doc.None; entry = d.Next(entry) {
		one(d.Get(entry, "resource"), entry)
	}
}

// leaveOut adds the names of a resource that the copy does not have.
func (s set) leaveOut(d *doc.Doc, resource, entry doc.Node) {
	s.add(d.Str(d.Get(entry, "fullUrl")))
	if id := d.Str(d.Get(resource, "id")); len(id) > 0 {
		s.add(slices.Concat(d.Str(d.Get(resource, "resourceType")), []byte("/"), id))
	}
	for identifier := d.FirstChild(d.Get(resource, "identifier")); identifier != doc.None; identifier = d.Next(identifier) {
		s.add(d.Str(d.Get(identifier, "value")))
	}
}

// rests reports whether an Observation rests on an age that is asked for.
func (f *folder) rests(d *doc.Doc, observation doc.Node) bool {
	water, _ := profiles.InputOf("total_body_water")
	for c := d.FirstChild(d.Get(observation, "component")); c != doc.None; c = d.Next(c) {
		if years, ok := ageOf(d, c); ok && years >= float64(f.opts.TopAge) || len(f.gone) > 0 && stated(d, c, water.Coding) {
			return true
		}
	}
	for ref := d.FirstChild(d.Get(observation, "derivedFrom")); ref != doc.None; ref = d.Next(ref) {
		if f.gone.refers(d, ref) {
			return true
		}
	}
	return len(f.gone) > 0 && (stated(d, observation, profiles.ModelWeek) || stated(d, observation, profiles.ModelWeeks))
}

// copyFile copies one file. One of which nothing is left is not written.
func (f *folder) copyFile(name string) error {
	w := written{name: f.fileName(name)}
	source, digest := sha256.New(), sha256.New()
	var to io.WriteCloser
	c := copier{secret: f.secret, report: f.report, gone: f.gone}
	err := f.documents(name, source, func(d *doc.Doc, data []byte) error {
		if c.d = d; !c.copied(d.Root()) {
			return nil
		}
		patient, err := patientOf(d)
		if err != nil {
			return err
		}
		if patient == "" {
			patient = f.patient
		}
		f.report.patients[patient] = true
		c.days = f.offset(patient)
		if !c.document(d) {
			return nil
		}
		if err := c.leaks(data); err != nil {
			return err
		}
		if to == nil {
			if to, err = f.to.Create(path.Join(f.place, w.name)); err != nil {
				return err
			}
		}
		if w.documents++; !strings.EqualFold(path.Ext(name), ".json") {
			c.out.WriteByte('\n')
		}
		_, err = io.MultiWriter(to, digest).Write(c.out.Bytes())
		return err
	})
	if to == nil {
		if err == nil {
			f.report.dropped["file "+path.Ext(name)]++
		}
		return err
	}
	f.report.Files++
	w.source, w.digest = hex.EncodeToString(source.Sum(nil)), hex.EncodeToString(digest.Sum(nil))
	f.written[name] = w
	return errors.Join(err, to.Close())
}

// set is a set of names of resources.
type set map[string]bool

// key is a name without what is not the same wherever it stands.
func key(name []byte) string {
	if m := typeAndID.FindSubmatch(name); m != nil {
		return string(m[1]) + "/" + string(m[2])
	}
	return string(bytes.TrimPrefix(name, []byte("urn:uuid:")))
}

func (s set) add(name []byte) {
	if len(name) > 0 {
		s[key(name)] = true
	}
}

func (s set) has(name []byte) bool { return s[key(name)] }

// refers reports whether a reference is to one of the set.
func (s set) refers(d *doc.Doc, reference doc.Node) bool {
	return s.has(d.Str(d.Get(reference, "reference"))) || s.has(d.Str(d.Get(d.Get(reference, "identifier"), "value")))
}

// kinds are the beginnings of file names that are the same in every export.
var kinds = []string{"session", "weeks", "report"}

// fileName is the name of the copy of a file: the id in it becomes another.
func (f *folder) fileName(name string) string {
	stem, ext := strings.TrimSuffix(name, filepath.Ext(name)), strings.ToLower(filepath.Ext(name))
	if known().words[stem] {
		return stem + ext // Observation.ndjson
	}
	kind, rest, _ := strings.Cut(stem, "-")
	if !slices.Contains(kinds, kind) || uuidShape.FindString(rest) != rest {
		return "records-" + f.uuid("file", path.Join(f.dir, name)) + ext
	}
	return kind + "-" + f.name(rest) + ext
}
