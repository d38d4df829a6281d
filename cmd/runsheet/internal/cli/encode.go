package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"runtime"
	"sync"

	"runsheet.example/fhirmap"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate"
	"runsheet.example/validate/issue"
)

// mapAndValidate maps the log and checks every session's Bundle with the
// whole validator, the published JSON Schema included. A session whose Bundle
// has an error is marked as broken and left out, so that nothing is delivered
// that we would refuse ourselves. The Bundles are checked whatever form the
// month is delivered in: the form changes references, never content.
func mapAndValidate(ctx context.Context, log *session.Log, opts fhirmap.Options) (*fhirmap.Month, []issue.Finding, error) {
	asBundles := opts
	asBundles.References, asBundles.LogicalPatient = fhirmap.ByURN, false
	month, err := fhirmap.Map(log, asBundles)
	if err != nil {
		return nil, nil, err
	}
	found := validateSessions(ctx, month)
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	var findings []issue.Finding
	again := asBundles != opts
	for i, s := range month.Sessions {
		for _, f := range found[i] {
			if f.Severity != issue.Error {
				continue // the log's own checks have said it at the cell
			}
			f.Session = s.Session.ID
			findings = append(findings, f)
			s.Session.Broken, again = true, true
		}
	}
	if again {
		month, err = fhirmap.Map(log, opts)
	}
	return month, findings, err
}

// validateSessions checks the sessions side by side; the result is parallel to
// month.Sessions.
func validateSessions(ctx context.Context, month *fhirmap.Month) [][]issue.Finding {
	found := make([][]issue.Finding, len(month.Sessions))
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(month.Sessions)) {
		workers.Go(func() {
			for i := range next {
				found[i] = validateSession(month, i)
			}
		})
	}
	for i := range month.Sessions {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	workers.Wait()
	return found
}

func validateSession(month *fhirmap.Month, at int) []issue.Finding {
	s := month.Sessions[at]
	name := sessionFile(s)
	data, err := month.Transaction(at)
	if err != nil {
		f := issue.At("json-syntax")
		f.File, f.Details = name, "the session could not be written: "+err.Error()
		return []issue.Finding{f}
	}
	findings := validate.Bytes(data, name, validate.Options{Schema: true})
	for i := range findings {
		findings[i].Cells = sourceCells(findings[i], s)
	}
	return findings
}

// sourceCells gives a finding inside a Bundle entry the log cells of that
// entry's resource.
func sourceCells(f issue.Finding, s fhirmap.SessionRecord) []issue.Cell {
	if entry, ok := entryIndex(f.Expression); ok && entry < len(s.Resources) {
		return s.Resources[entry].Cells
	}
	return []issue.Cell{s.Session.Cell}
}

// encode writes the month in the chosen form.
func encode(month *fhirmap.Month, flags exportFlags) ([]fhirmap.File, error) {
	switch flags.as {
	case asNDJSON:
		return month.NDJSON(), nil
	case asCollection, asDocument:
		file, err := singleFile(month, flags)
		if err != nil {
			return nil, err
		}
		return []fhirmap.File{file}, nil
	}
	files := make([]fhirmap.File, 0, len(month.Sessions))
	for i, s := range month.Sessions {
		data, err := month.Transaction(i)
		if err != nil {
			return nil, err
		}
		files = append(files, fhirmap.File{Name: sessionFile(s), Data: finish(data, flags.pretty)})
	}
	return files, nil
}

// sessionFile names a session's Bundle by its identity: nothing the person
// wrote goes into a file name.
func sessionFile(s fhirmap.SessionRecord) string { return "session-" + s.ID + ".json" }

func finish(data []byte, pretty bool) []byte {
	if pretty {
		var indented bytes.Buffer
		if json.Indent(&indented, data, "", "  ") == nil {
			data = indented.Bytes()
		}
	}
	return append(data[:len(data):len(data)], '\n')
}

func manifestText(manifest fhirmap.Manifest) ([]byte, error) {
	var buffer bytes.Buffer
	encoder := json.NewEncoder(&buffer)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	if err := encoder.Encode(manifest); err != nil {
		return nil, err
	}
	return buffer.Bytes(), nil
}
