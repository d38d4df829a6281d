package fhirmap

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
)

// LogLabel is the label of a file of the log, in place of a session id.
const LogLabel = "log"

// RoleLog begins the role of the DocumentReference of a file of the log.
const RoleLog = "log_file:"

// mediaTypes are by the ending of a file's name (IANA media types; memory).
var mediaTypes = map[string]string{
	".csv": "text/csv", ".toml": "application/toml", ".json": "application/fhir+json",
	".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
	".xlsm": "application/vnd.ms-excel.sheet.macroEnabled.12",
}

// LogFile maps the file of the log at an index of its sources as one more
// record: a DocumentReference with the bytes as they were received.
//
// Decision 26. The bytes stand in the DocumentReference, not in a Binary: a
// Binary has no identifier in R4, so that no condition guards its create, and a
// server that assigns ids takes none of ours. Each file has a resource of its
// own, since several contents of one are the same document in several formats
// (R4, DocumentReference.content), and so each digest is that of a file in the
// manifest. R4's hash is SHA-1; the SHA-256 is an identifier, by RFC 6920. The
// identity is not made from the file's name, unless the log prescribes it: a
// renamed workbook is the same log.
func (p *Mapping) LogFile(at int) (*SessionRecord, error) {
	file := p.log.Sources[at]
	if file.Data == nil {
		return nil, fmt.Errorf("%s: its bytes were not kept", file.Name)
	}
	m := newLogMapper(p.log, p.opts)
	if err := m.patient(); err != nil {
		return nil, err
	}
	role := logRole(p.log.Sources, at)
	id, subject, sum := m.names.name("", role, 0), m.subject(), sha256.Sum256(file.Data)
	digest := r4.Identifier{System: ptr("urn:ietf:rfc:3986"), Value: ptr("ni:///sha-256;" + base64.RawURLEncoding.EncodeToString(sum[:]))}
	document := &r4.DocumentReference{
		Id: m.resourceID(id), Meta: m.meta(), Identifier: append(identifier(id), digest), Subject: &subject,
		Status:  documentCurrent,
		Type:    ptr(concept("Treatment log as received", dialysisNote)),
		Content: []documentContent{{Attachment: attachment(mediaType(file), file.Name, file.Data)}},
		Text:    narrative("File of the treatment log as received: " + file.Name),
	}
	if days := daysOf(p.log); len(days) > 0 {
		document.Context = &documentContext{Period: &r4.Period{Start: &days[0], End: &days[len(days)-1]}}
	}
	err := m.add("DocumentReference", id, role, document)
	return &SessionRecord{ID: id, label: LogLabel, Resources: m.resources, opts: p.opts}, err
}

// logRole is the role of a source: by the name that a log prescribes, or by its
// place among the files with other names.
func logRole(sources []session.Source, at int) string {
	prescribed := func(s session.Source) string {
		name := strings.ToLower(s.Name)
		if sheet, isCSV := strings.CutSuffix(name, ".csv"); name == "log.toml" || isCSV && slices.Contains(session.Sheets(), session.Sheet(sheet)) {
			return name
		}
		return ""
	}
	if name := prescribed(sources[at]); name != "" {
		return RoleLog + name
	}
	others := 0
	for _, s := range sources[:at+1] {
		if prescribed(s) == "" {
			others++
		}
	}
	return RoleLog + strconv.Itoa(others)
}

func mediaType(file session.Source) string {
	kind := mediaTypes[strings.ToLower(path.Ext(file.Name))]
	switch {
	case kind == "":
		return "application/octet-stream"
	case kind == "text/csv" && file.Encoding != "":
		return kind + ";charset=" + file.Encoding
	}
	return kind
}

// daysOf are the days of the sessions, sorted.
func daysOf(log *session.Log) (days []string) {
	for _, s := range log.Sessions {
		if s.Date.OK() {
			days = append(days, r4.Date(s.Date.Time))
		}
	}
	slices.Sort(days)
	return days
}
