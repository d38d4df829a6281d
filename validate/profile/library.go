package profile

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"strings"

	"runsheet.example/profiles"
	"runsheet.example/validate/structure"
)

//go:generate go run ./internal/gen -o core.zip

// coreArchive holds the types, profiles, extensions, value sets and code systems
// of FHIR R4 4.0.1 (HL7, CC0), without their prose. It is opened when one of them
// is asked for.
//
//go:embed core.zip
var coreArchive []byte

// Library finds definitions by canonical URL: in the packages given to it, the
// last one first, then in our own package, then in R4. It compiles a
// definition once. A Library is not safe for concurrent use.
type Library struct {
	packages []*Package
	own      map[string]*Package // the definitions of our own package, by file name
	core     *zip.Reader
	profiles map[string]*lookup
	outlines map[string]*outline
	making   []string // definitions being read, each based on the next
	sets     map[string]*valueSet
	systems  map[string]*codeSystem
	// active are the value sets being expanded, to detect cycles of imports.
	active map[string]bool
}

// lookup is the result of finding a profile.
type lookup struct {
	profile *profile
	err     error
}

// NewLibrary returns a library of the given packages, our own and R4. It reads
// definitions on demand.
func NewLibrary(packages ...*Package) *Library {
	return &Library{
		packages: packages, own: map[string]*Package{}, profiles: map[string]*lookup{}, outlines: map[string]*outline{}, sets: map[string]*valueSet{},
		systems: map[string]*codeSystem{}, active: map[string]bool{},
	}
}

// Check returns why a profile cannot be used: an error that wraps
// fs.ErrNotExist if it is unknown.
func (l *Library) Check(canonical string) error {
	_, err := l.profile(canonical)
	return err
}

// profile returns the compiled profile of a canonical URL.
func (l *Library) profile(canonical string) (*profile, error) {
	if found := l.profiles[canonical]; found != nil {
		return found.profile, found.err
	}
	found := new(lookup)
	found.profile, found.err = l.compile(canonical)
	l.profiles[canonical] = found
	return found.profile, found.err
}

func (l *Library) compile(canonical string) (*profile, error) {
	bare, _, _ := strings.Cut(canonical, "|")
	if name, isCore := strings.CutPrefix(bare, coreBase); isCore {
		if _, isType := structure.ResourceType([]byte(name)); isType || name == "Resource" || name == "DomainResource" {
			return &profile{url: bare, name: name, typ: name, isBase: true}, nil
		}
	}
	o, err := l.outline(canonical)
	if err != nil {
		return nil, err
	}
	if len(o.Snapshot.Element) > 0 {
		delete(l.outlines, canonical) // cheap to read again if another profile is based on it
	}
	return compile(o)
}

// find finds a definition. Without a version it returns the last one of the
// first package that has any.
func (l *Library) find(kind, bare, version string) (definition, error) {
	for i := len(l.packages) - 1; i >= 0; i-- {
		if def, ok := l.packages[i].find(kind, bare, version); ok {
			return def, nil
		}
	}
	if def, ok, err := l.findOwn(kind, bare, version); ok || err != nil {
		return def, err
	}
	return l.findCore(kind, bare, version)
}

func (p *Package) find(kind, bare, version string) (definition, bool) {
	all := p.definitions[bare]
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].kind == kind && (version == "" || all[i].version == version || strings.HasPrefix(all[i].version, version+".")) {
			return all[i], true
		}
	}
	return definition{}, false
}

// findOwn searches the package that is part of the program. The names of its
// files contain the last part of the URL. Code systems have no such names, but
// are few.
func (l *Library) findOwn(kind, bare, version string) (definition, bool, error) {
	name := kind + "-*.json"
	if strings.HasPrefix(bare, profiles.DefaultCanonical+"/"+kind+"/") {
		name = kind + "-" + lastPart(bare) + ".json"
	} else if kind != "CodeSystem" {
		return definition{}, false, nil
	}
	if l.own[name] == nil {
		var err error
		if l.own[name], err = readOwn(name); err != nil {
			return definition{}, false, err
		}
	}
	def, ok := l.own[name].find(kind, bare, version)
	return def, ok, nil
}

// readOwn reads the files of our own package with that name or pattern.
func readOwn(pattern string) (*Package, error) {
	own := &Package{definitions: map[string][]definition{}}
	files := profiles.Package()
	names, err := fs.Glob(files, pattern)
	if err != nil {
		return own, nil // not a file name
	}
	for _, name := range names {
		text, err := fs.ReadFile(files, name)
		if err == nil {
			err = own.add(text)
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	return own, nil
}

// findCore searches R4 itself.
func (l *Library) findCore(kind, bare, version string) (definition, error) {
	missing := fmt.Errorf("%s %s: %w", kind, bare, fs.ErrNotExist)
	if l.core == nil {
		var err error
		if l.core, err = zip.NewReader(bytes.NewReader(coreArchive), int64(len(coreArchive))); err != nil {
			return definition{}, err
		}
	}
	if strings.HasPrefix(bare, "http://hl7.org/fhir") && version != "" && version != "4.0.1" && version != "4.0" {
		return definition{}, missing
	}
	file, err := l.core.Open(kind + "/" + url.QueryEscape(bare))
	if err != nil {
		return definition{}, missing
	}
	text, err := io.ReadAll(file)
	if err = firstError(err, file.Close()); err != nil {
		return definition{}, err
	}
	return definition{kind, bare, "4.0.1", text}, nil
}

func firstError(a, b error) error {
	if a != nil {
		return a
	}
	return b
}
