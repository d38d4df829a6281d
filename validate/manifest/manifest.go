// Package manifest is the format of manifest.json, the file that ties the
// files of an export together and says, for every resource, which cells of the
// log it was made from. It proves that files belong together and are whole; a
// digest without a signature shows accident, not fraud.
//
// The manifest is one JSON object in UTF-8, each member once, in any order:
//
//   - format: the number 1 ([Format]). A reader refuses another one.
//   - tool: {name, version} of the program that exported.
//   - rules: the SHA-256 of the rules table the export was checked with.
//   - options: the choices that shaped the resources ([Options]).
//   - log: {id, forOneself, timeZone, files: [{name, sha256, rows}]}: what was
//     read. With forOneself the patient's identifier is not known, and the
//     export is never sent.
//   - period: {from, to}, days as YYYY-MM-DD, where only sessions of some days
//     were asked for. One that is missing sets no bound.
//   - bundles: the files written, in the order of the sessions, then the weeks
//     of the log, a report for a visit, and the files of the log: {file, sha256, session, status, resources}. Names have no
//     path. A Bundle's resources are {type, id, role, fullUrl, cells} in the
//     order of its entries; id is the identity (a UUID), fullUrl is set if a
//     resource has no record identifier, and a cell is {file, sheet, row,
//     column, heading}, counted from 1, the heading row included.
//   - transactionTime, request, requiresAccessToken, output and error, of
//     NDJSON only: the members of a Bulk Data manifest ([Bulk]).
//   - leftOut: the sessions that were not written because of errors:
//     {session, date, cell, rules}; date is missing if it could not be read.
//   - expected: {from, sessionsPerWeek}: what the prescriptions ask for, from
//     the day each begins; one that says nothing of it ends the one before.
//   - root: the SHA-256, in lower-case hexadecimal as all digests here, over
//     the lines "<sha256>  <file>\n" of the files, sorted by file name.
//
// A reader ignores members that are not named here, except those of options.
package manifest

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"slices"

	"runsheet.example/validate/issue"
)

const (
	// Name is the name of a manifest in an export folder.
	Name = "manifest.json"
	// LineMap is the name of the CSV beside NDJSON files that names, for each
	// of their lines, the log cells that the resource was made from.
	LineMap = "lines.csv"
	// ReceiptEnding is the end of the name of a receipt, beside its export.
	ReceiptEnding = ".receipt.json"
	// Received and Status are the names of what receive keeps in a work folder.
	Received = "received.json"
	Status   = "status.json"
	// Format is raised when a reader of an older format would misunderstand
	// a manifest.
	Format = 1
	// OptionsFormat is raised when a reader of an older format would misread
	// the options.
	OptionsFormat = 1
)

// Manifest is the whole of it; the package comment says what each member is.
type Manifest struct {
	Format   int        `json:"format"`
	Tool     Tool       `json:"tool"`
	Rules    string     `json:"rules"`
	Options  Options    `json:"options"`
	Log      Log        `json:"log"`
	Period   *Period    `json:"period,omitempty"`
	Files    []File     `json:"bundles"`
	LeftOut  []LeftOut  `json:"leftOut"`
	Expected []Expected `json:"expected,omitempty"`
	Root     string     `json:"root"`
	*Bulk
}

// Bulk are the members that a reader of FHIR Bulk Data Access 2.0.0 expects
// (Bulk Data Export, response of a complete status request); it ignores the
// others.
type Bulk struct {
	// TransactionTime is an instant: the last time at which an entry of the
	// files was closed, never that of the export.
	TransactionTime string `json:"transactionTime"`
	// Request is urn:uuid: and the id of the log, since no request was made.
	Request             string     `json:"request"`
	RequiresAccessToken bool       `json:"requiresAccessToken"`
	Output              []BulkFile `json:"output"`
	// Error is empty: LeftOut has the sessions that were not written.
	Error []BulkFile `json:"error"`
}

// BulkFile is one NDJSON file; its URL is relative to the manifest, and Count
// is the number of its lines.
type BulkFile struct {
	Type  string `json:"type"`
	URL   string `json:"url"`
	Count int    `json:"count"`
}

// Tool is the program that exported.
type Tool struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// Options are the choices an export was made with, as far as they decide what
// its resources hold. A correction of the record must be made with the same
// ones: what a choice leaves out would else count as withdrawn. A member that
// is missing has its zero value; a reader that does not know a member, or
// another format than [OptionsFormat], must not correct the record.
type Options struct {
	Format int `json:"format"`
	// Patient is the literal reference at the receiver, such as Patient/123.
	// Without it, references find the patient by identifier.
	Patient string `json:"patient,omitempty"`
	// CreatePatient adds a Patient with only an identifier, created only if
	// the receiver has none.
	CreatePatient bool `json:"createPatient"`
	NoComputed    bool `json:"noComputed"`
	// NoNotes omits every free text.
	NoNotes bool `json:"noNotes"`
	Serials bool `json:"serials"` // device serial numbers are written
	// AttachLog adds the files of the log as they were received.
	AttachLog bool `json:"attachLog,omitempty"`
	// Series is "all" or "first-last", Provenance "conditional", "put" or
	// "none".
	Series     string `json:"series"`
	Provenance string `json:"provenance"`
	// ClaimProfiles is the base of the canonical URLs of our own profiles in
	// meta.profile. Empty claims none: a server that does not know a profile
	// may refuse the record.
	ClaimProfiles string `json:"claimProfiles,omitempty"`
	// Display is "none" if codings have no display.
	Display string `json:"display,omitempty"`
	// Tags are the codings in meta.tag of every resource, each as SYSTEM|CODE,
	// sorted, with a space between two.
	Tags string `json:"tags,omitempty"`
	// Codes is the map by which the receiver's codes stand beside ours; with
	// CodesOnly they replace the local ones.
	Codes     CodeMap `json:"codes,omitzero"`
	CodesOnly bool    `json:"codesOnly,omitempty"`
}

// CodeMap is the name and the digest of a map of codes.
type CodeMap struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
}

// Log says what was read.
type Log struct {
	ID         string   `json:"id"`
	ForOneself bool     `json:"forOneself,omitempty"`
	TimeZone   string   `json:"timeZone"`
	Sources    []Source `json:"files"`
}

// Source is one file of the log.
type Source struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Rows   int    `json:"rows"`
}

// Period is the first and the last day asked for.
type Period struct {
	From string `json:"from,omitempty"`
	To   string `json:"to,omitempty"`
}

// File is one written file.
type File struct {
	File      string     `json:"file"`
	SHA256    string     `json:"sha256"`
	Session   string     `json:"session,omitempty"`
	Status    string     `json:"status,omitempty"`
	Resources []Resource `json:"resources,omitempty"`
}

// Resource is one resource with the log cells it was made from.
type Resource struct {
	Type    string       `json:"type"`
	ID      string       `json:"id"`
	Role    string       `json:"role"`
	FullURL string       `json:"fullUrl,omitempty"`
	Cells   []issue.Cell `json:"cells,omitempty"`
}

// LeftOut is one session that was not written, with its row and
// the rules that kept it out.
type LeftOut struct {
	Session string     `json:"session"`
	Date    string     `json:"date,omitempty"`
	Cell    issue.Cell `json:"cell"`
	Rules   []string   `json:"rules"`
}

// Expected is the number of sessions a week prescribed from a day on, as
// written.
type Expected struct {
	From            string      `json:"from"`
	SessionsPerWeek json.Number `json:"sessionsPerWeek,omitempty"`
}

// Root computes the root digest over files; only their names and digests count.
func Root(files []File) string {
	sorted := slices.SortedFunc(slices.Values(files), func(a, b File) int { return cmp.Compare(a.File, b.File) })
	h := sha256.New()
	for _, f := range sorted {
		_, _ = io.WriteString(h, f.SHA256+"  "+f.File+"\n") // a hash never fails
	}
	return hex.EncodeToString(h.Sum(nil))
}

// SumOf is the digest of a file that was opened, and closes it.
func SumOf(file io.ReadCloser, err error) (string, error) {
	if err != nil {
		return "", err
	}
	defer file.Close()
	h := sha256.New()
	_, err = io.Copy(h, file)
	return hex.EncodeToString(h.Sum(nil)), err
}

// Ours reports whether a file is a manifest that this program wrote, by its
// first bytes.
func Ours(head []byte) bool { return bytes.Contains(head, []byte(`"name": "runsheet"`)) }
