package fhirmap

import (
	"encoding/json"
	"sort"
	"strconv"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// NewManifest describes an export of a log: its files, and the sessions left
// out because of findings.
func NewManifest(log *session.Log, opts Options, files []manifest.File, leftOut []*session.Session, findings []issue.Finding) manifest.Manifest {
	out := manifest.Manifest{
		Format: manifest.Format, Tool: manifest.Tool{Name: opts.Tool.Name, Version: opts.Tool.Version},
		Rules: issue.RulesDigest(), Options: opts.Recorded(), Files: files, LeftOut: []manifest.LeftOut{},
		Log:      manifest.Log{ID: log.About.LogID, ForOneself: log.About.Local, TimeZone: log.About.TimeZone, Sources: []manifest.Source{}},
		Expected: expected(log), Root: manifest.Root(files),
	}
	for _, s := range log.Sources {
		out.Log.Sources = append(out.Log.Sources, manifest.Source{Name: s.Name, SHA256: s.SHA256, Rows: s.Rows})
	}
	for _, s := range leftOut {
		left := manifest.LeftOut{Session: s.ID, Cell: s.Cell, Rules: errorRules(s, findings)}
		if s.Date.OK() {
			left.Date = r4.Date(s.Date.Time)
		}
		out.LeftOut = append(out.LeftOut, left)
	}
	return out
}

// ManifestFile is the manifest entry of the file with the record.
func (s SessionRecord) ManifestFile(name, sha256 string) manifest.File {
	out := manifest.File{File: name, SHA256: sha256, Session: s.Label(), Resources: manifestResources(s.Resources)}
	if s.Session != nil {
		out.Status = string(s.Session.Status)
	}
	return out
}

func manifestResources(resources []Resource) []manifest.Resource {
	out := make([]manifest.Resource, 0, len(resources))
	for _, r := range resources {
		entry := manifest.Resource{Type: r.Type, ID: r.Identity, Role: r.Role, Cells: r.Cells}
		if r.Type == "Provenance" || r.Type == "Patient" {
			entry.FullURL = EntryURL(r.Identity)
		}
		out = append(out, entry)
	}
	return out
}

// errorRules lists the rules that excluded a session, each once, in order.
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

// expected lists the prescriptions with their number of sessions.
func expected(log *session.Log) []manifest.Expected {
	var out []manifest.Expected
	for _, p := range log.About.Prescriptions {
		if p.Name.OK() {
			continue // never in force by its day
		}
		from := manifest.Expected{From: r4.Date(p.ValidFrom.Time)}
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
