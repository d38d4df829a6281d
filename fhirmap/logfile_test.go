package fhirmap

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/fhirmap/session"
)

// attachedLog maps every file of a log.
func attachedLog(t *testing.T, log *session.Log) (out []*SessionRecord) {
	t.Helper()
	opts := testOptions
	opts.AttachLog = true
	mapping, err := NewMapping(log, opts)
	if err != nil {
		t.Fatal(err)
	}
	for at := range log.Sources {
		record, err := mapping.LogFile(at)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, record)
	}
	return out
}

// Each file is a document with its bytes, by which the digests can be recomputed.
func TestLogFiles(t *testing.T) {
	log := readLog(t, "testdata/small")
	for at, record := range attachedLog(t, log) {
		file := log.Sources[at]
		var d struct {
			Identifier []struct{ System, Value string }
			Content    []struct {
				Attachment struct {
					ContentType, Title string
					Data               []byte
					Size               int
				}
			}
			Context struct{ Period struct{ Start, End string } }
		}
		if err := json.Unmarshal(record.Resources[0].JSON, &d); err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(d.Content[0].Attachment.Data)
		if a := d.Content[0].Attachment; !bytes.Equal(a.Data, file.Data) || a.Size != len(file.Data) || a.Title != file.Name || !strings.HasPrefix(a.ContentType, map[bool]string{true: "application/toml", false: "text/csv;charset=utf-8"}[file.Name == "log.toml"]) {
			t.Errorf("%s: %d bytes, %s", file.Name, a.Size, a.ContentType)
		}
		if len(d.Identifier) != 2 || d.Identifier[0].Value != "urn:uuid:"+record.ID || d.Identifier[1].Value != "ni:///sha-256;"+base64.RawURLEncoding.EncodeToString(sum[:]) {
			t.Errorf("%s: %+v", file.Name, d.Identifier)
		}
		if d.Context.Period.Start != "2025-10-06" || d.Context.Period.End != "2025-10-08" || record.Label() != LogLabel || !Heads(record.Resources[0].Role) {
			t.Errorf("%s: %+v", file.Name, d.Context)
		}
	}
}

// A role, and so the identity, is made neither from content nor from a name that
// the person chose, nor does it change with a file beside it that the log
// prescribes.
func TestLogFileRoles(t *testing.T) {
	roles := func(names ...string) (out []string) {
		log := readLog(t, "testdata/small")
		log.Sources = nil
		for _, name := range names {
			log.Sources = append(log.Sources, session.NewSource(name, []byte(name)))
		}
		for _, record := range attachedLog(t, log) {
			out = append(out, record.Resources[0].Role)
		}
		return out
	}
	for _, test := range []struct{ names, want []string }{
		{[]string{"Frau Muster.xlsx"}, []string{"log_file:1"}},
		{[]string{"november (2).xlsx"}, []string{"log_file:1"}},
		{[]string{"Sessions.CSV", "answers.csv", "log.toml"}, []string{"log_file:sessions.csv", "log_file:answers.csv", "log_file:log.toml"}},
		{[]string{"log.toml", "map.toml", "old.ods"}, []string{"log_file:log.toml", "log_file:1", "log_file:2"}},
	} {
		if diff := cmp.Diff(test.want, roles(test.names...)); diff != "" {
			t.Error(diff)
		}
	}
}

// What has no bytes is no attachment: R4 forbids empty data; bytes that were not
// kept are an error and never a document without them.
func TestLogFileWithoutBytes(t *testing.T) {
	log := readLog(t, "testdata/small")
	log.Sources = []session.Source{session.NewSource("answers.csv", []byte{}), {Name: "sessions.csv"}}
	mapping, err := NewMapping(log, testOptions)
	if err != nil {
		t.Fatal(err)
	}
	if record, err := mapping.LogFile(0); err != nil || strings.Contains(string(record.Resources[0].JSON), `"data"`) {
		t.Errorf("%v", err)
	}
	if _, err := mapping.LogFile(1); err == nil {
		t.Error("a document without its bytes")
	}
	opts := testOptions
	opts.AttachLog, opts.NoNotes = true, true
	if err := opts.Check(); err == nil || !strings.Contains(err.Error(), "birth date") {
		t.Errorf("with --no-notes: %v", err)
	}
}
