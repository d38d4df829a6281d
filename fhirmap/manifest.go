package fhirmap

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"sort"
	"strconv"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

// Manifest ties the files of an export together and says, for every
// resource, which cells of the log it was made from. It proves that files
// belong together and are whole; a digest without a signature shows accident,
// not fraud.
type Manifest struct {
	Format int `json:"format"`
	Tool   struct {
		Name    string `json:"name"`
		Version string `json:"version"`
	} `json:"tool"`
	// Rules is the digest of the rules table the export was checked with.
	Rules string `json:"rules"`
	// Options are the choices that shaped the resources.
	Options ManifestOptions `json:"options"`
	Log     ManifestLog     `json:"log"`
	// Period is given where only sessions of some days were asked for.
	Period *ManifestPeriod `json:"period,omitempty"`
	// Files are the written files, in the order of the sessions, the weeks
	// last.
	Files []ManifestFile `json:"bundles"`
	// LeftOut are the sessions that were not written because of errors.
	LeftOut []ManifestLeftOut `json:"leftOut"`
	// Expected is what the prescriptions ask for, from the day each begins;
	// one that says nothing of it ends the one before.
	Expected []ManifestExpected `json:"expected,omitempty"`
	// Root is the SHA-256 over the lines "<sha256>  <file>\n" of the files,
	// sorted by file name.
	Root string `json:"root"`
}

// ManifestLog says what was read.
type ManifestLog struct {
	ID string `json:"id"`
	// ForOneself is set where the patient's identifier is not known: such an
	// export is never sent.
	ForOneself bool             `json:"forOneself,omitempty"`
	TimeZone   string           `json:"timeZone"`
	Sources    []ManifestSource `json:"files"`
}

// ManifestSource is one file of the log.
type ManifestSource struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Rows   int    `json:"rows"`
}

// ManifestFile is one written file.
type ManifestFile struct {
	File      string             `json:"file"`
	SHA256    string             `json:"sha256"`
	Session   string             `json:"session,omitempty"`
	Status    string             `json:"status,omitempty"`
	Resources []ManifestResource `json:"resources,omitempty"`
}

// ManifestResource is one resource with the log cells behind it.
type ManifestResource struct {
	Type string `json:"type"`
	// ID is the identity. A Bundle's resources stand in the order of its
	// entries.
	ID   string `json:"id"`
	Role string `json:"role"`
	// FullURL is given where the resource has no record identifier to know
	// it by.
	FullURL string       `json:"fullUrl,omitempty"`
	Cells   []issue.Cell `json:"cells,omitempty"`
}

// ManifestLeftOut is one session that was not written, with the rules that
// kept it out and the row it stands in.
type ManifestLeftOut struct {
	Session string     `json:"session"`
	Cell    issue.Cell `json:"cell"`
	Rules   []string   `json:"rules"`
}

// ManifestPeriod is the first and the last day asked for; an empty one sets no
// bound.
type ManifestPeriod struct {
	From string `json:"from,omitempty"`
	To   string `json:"to,omitempty"`
}

// ManifestExpected is the number of sessions a week prescribed from a day on,
// as written.
type ManifestExpected struct {
	From            string      `json:"from"`
	SessionsPerWeek json.Number `json:"sessionsPerWeek,omitempty"`
}

// manifestFormat is raised when a reader of an older format would
// misunderstand a manifest.
const manifestFormat = 1

// NewManifest describes an export of a log: the files it was written to, and
// the sessions left out because of findings.
func NewManifest(log *session.Log, opts Options, files []ManifestFile, leftOut []*session.Session, findings []issue.Finding) Manifest {
	out := Manifest{Format: manifestFormat, Rules: issue.RulesDigest(), Options: opts.Recorded(), Files: files, LeftOut: []ManifestLeftOut{}}
	out.Tool.Name, out.Tool.Version = opts.Tool.Name, opts.Tool.Version
	out.Log = ManifestLog{ID: log.About.LogID, ForOneself: log.About.Local, TimeZone: log.About.TimeZone, Sources: []ManifestSource{}}
	for _, s := range log.Sources {
		out.Log.Sources = append(out.Log.Sources, ManifestSource{s.Name, s.SHA256, s.Rows})
	}
	for _, s := range leftOut {
		out.LeftOut = append(out.LeftOut, ManifestLeftOut{s.ID, s.Cell, errorRules(s, findings)})
	}
	out.Expected = expected(log)
	out.Root = rootDigest(files)
	return out
}

// ManifestFile is the manifest's entry for the file that holds the record.
func (s SessionRecord) ManifestFile(name, sha256 string) ManifestFile {
	out := ManifestFile{File: name, SHA256: sha256, Session: s.Label(), Resources: manifestResources(s.Resources)}
	if s.Session != nil {
		out.Status = string(s.Session.Status)
	}
	return out
}

func manifestResources(resources []Resource) []ManifestResource {
	out := make([]ManifestResource, 0, len(resources))
	for _, r := range resources {
		entry := ManifestResource{Type: r.Type, ID: r.ID, Role: r.Role, Cells: r.Cells}
		if r.Type == "Provenance" || r.Type == "Patient" {
			entry.FullURL = EntryURL(r.ID)
		}
		out = append(out, entry)
	}
	return out
}

// errorRules lists the rules that kept a session out, each once, in order.
func errorRules(s *session.Session, findings []issue.Finding) []string {
	rules := []string{}
	seen := map[string]bool{}
	for _, f := range findings {
		if f.Severity == issue.Error && f.Session == s.ID && !seen[f.Rule] {
			seen[f.Rule] = true
			rules = append(rules, f.Rule)
		}
	}
	sort.Strings(rules)
	return rules
}

// expected lists the prescriptions with the number of sessions each asks for.
func expected(log *session.Log) []ManifestExpected {
	var out []ManifestExpected
	for _, p := range log.About.Prescriptions {
		if p.Name.OK() {
			continue // never in force by its day
		}
		from := ManifestExpected{From: r4.Date(p.ValidFrom.Time)}
		switch {
		case p.SessionsPerWeek.OK():
			from.SessionsPerWeek = json.Number(p.SessionsPerWeek.Decimal.String())
		case len(p.Weekdays) > 0:
			from.SessionsPerWeek = json.Number(strconv.Itoa(len(p.Weekdays)))
		}
		out = append(out, from)
	}
	return out
}

func rootDigest(files []ManifestFile) string {
	lines := make([]string, 0, len(files))
	sorted := append([]ManifestFile(nil), files...)
	sort.Slice(sorted, func(i, j int) bool { return sorted[i].File < sorted[j].File })
	for _, f := range sorted {
		lines = append(lines, f.SHA256+"  "+f.File+"\n")
	}
	h := sha256.New()
	for _, line := range lines {
		h.Write([]byte(line))
	}
	return hex.EncodeToString(h.Sum(nil))
}
