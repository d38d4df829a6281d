// Package pseudonym writes a pseudonymous copy of exported records: for an
// auditor or a program that needs the values, not the person. A copy is still
// personal data: whoever has the key, or knows the values, finds the person
// again. HIPAA's list of identifiers (45 CFR 164.514(b)(2)) has all elements of
// dates but the year, so that a copy with shifted dates is not de-identified by
// that list.
//
// The copy has what a table allows ([allowed]), element by element, and drops
// and counts the rest. A name (an id, an identifier, a file) becomes an
// HMAC-SHA-256 under the key, with a label for each kind of name. All dates of a
// patient are shifted by the same number of whole weeks, at least 26, with the
// time of day and the offset from UTC as written: weekdays stay, and so does
// the time between any two instants. Where the clocks change within the records,
// the written offsets show the season. A text is kept if it is one of the tables
// of this program. Numbers keep their digits.
//
// Before a document is written, its copy is searched for leaks: every text in it
// must be a word of the tables, or a name or date of the form that copies have,
// and no such name may stand in the source. Since a copy is made of its source
// alone, that covers all identifiers, serial numbers, file names, digests and
// texts. Dates are compared by their place: no element of a resource may keep
// its date. A number cannot be told from a measured value.
//
// Memory holds one document at a time, and one manifest.
package pseudonym

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// Options are the choices of a copy.
type Options struct {
	Key []byte
	// TopAge leaves out what was computed from an age of so many years or more;
	// 0 leaves nothing out.
	TopAge int
}

// Report says what was copied and what was not.
type Report struct {
	Exports, Files, Resources int
	// Old counts the ages above 89 in the copy.
	Old int

	patients                    map[string]bool
	dropped, withheld, notAgain map[string]int
}

// Copy writes a pseudonymous copy of the exports below a folder into another
// one, which must be empty or absent. It follows no link, and writes nothing if
// it returns an error.
func Copy(ctx context.Context, from, to string, opts Options) (*Report, error) {
	if err := apart(from, to); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(from)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	out, err := output.NewFolder(to, false, nil)
	if err != nil {
		return nil, err
	}
	defer out.Close()
	report := &Report{patients: map[string]bool{}, dropped: map[string]int{}, withheld: map[string]int{}, notAgain: map[string]int{}}
	folders, err := find(root.FS(), report)
	if err != nil {
		return nil, err
	}
	for _, f := range folders {
		f.secret, f.opts, f.report, f.from, f.to = opts.Key, opts, report, root.FS(), out
		f.gone, f.written = set{}, map[string]written{}
		if f.dir != "." {
			f.place = "export-" + f.uuid("file", f.dir)
		}
		if err := f.copyFolder(ctx); err != nil {
			return nil, err
		}
	}
	if report.Files == 0 {
		return nil, fmt.Errorf("%s: no FHIR JSON in it that a copy could be made of", from)
	}
	_, err = out.Commit()
	return report, err
}

// apart refuses a place for the copy that is not empty or in the source.
func apart(from, to string) error {
	entries, err := os.ReadDir(to)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if len(entries) > 0 {
		return fmt.Errorf("%s: %w; choose an empty folder, or a new one", to, output.ErrExists)
	}
	if Within(to, from) {
		return fmt.Errorf("%s is in %s, into which nothing is written", to, from)
	}
	return nil
}

// Within reports whether a place is a folder or in it, with links followed. Both
// may not exist yet.
func Within(place, folder string) bool {
	inside, err := filepath.Rel(real(folder), real(place))
	return err == nil && inside != ".." && !strings.HasPrefix(inside, ".."+string(filepath.Separator))
}

// real is a path without links, as far as it exists.
func real(name string) string {
	name, err := filepath.Abs(name)
	if err != nil {
		return name
	}
	if at, err := filepath.EvalSymlinks(name); err == nil || filepath.Dir(name) == name {
		return at
	}
	return filepath.Join(real(filepath.Dir(name)), filepath.Base(name))
}

// find lists the folders with records, and counts what is no record.
func find(root fs.FS, report *Report) (out []*folder, err error) {
	folders := map[string]*folder{}
	err = fs.WalkDir(root, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		f := folders[path.Dir(name)]
		switch {
		case entry.IsDir():
			folders[name] = &folder{dir: name}
			out = append(out, folders[name])
		case !entry.Type().IsRegular():
			report.dropped["link, or no file"]++
		case path.Base(name) == manifest.Name:
			f.listed, err = startsAs(root, name, manifest.Ours)
		default:
			var record bool
			switch strings.ToLower(path.Ext(name)) {
			case ".json", ".ndjson", ".jsonl":
				record, err = startsAs(root, name, func(head []byte) bool { return strings.Contains(string(head), `"resourceType"`) })
			}
			if record {
				f.names = append(f.names, path.Base(name))
			} else {
				f.others = append(f.others, path.Base(name))
				report.dropped["file "+path.Ext(name)]++
			}
		}
		return err
	})
	return slices.DeleteFunc(out, func(f *folder) bool { return len(f.names) == 0 }), err
}

// startsAs reports whether the first bytes of a file are of a kind.
func startsAs(root fs.FS, name string, is func(head []byte) bool) (bool, error) {
	file, err := root.Open(name)
	if err != nil {
		return false, err
	}
	defer file.Close()
	const most = 64 << 10
	head, err := io.ReadAll(io.LimitReader(file, most))
	return is(head), err
}

// Print writes the report.
func (r *Report) Print(w io.Writer) {
	fmt.Fprintf(w, "A pseudonymous copy of %s, %s and %s of %s was written.\n", issue.Plural(r.Exports, "export", "exports"),
		issue.Plural(r.Files, "file", "files"), issue.Plural(r.Resources, "resource", "resources"), issue.Plural(len(r.patients), "patient", "patients"))
	fmt.Fprintln(w, "It is still personal data: with the key, or with what is known of a treatment, a person can be found in it. Keep the key apart from it.")
	fmt.Fprintln(w, "No text, name or date of the source was found in it. Compare runsheet audit of both.")
	switch {
	case r.Old > 0:
		fmt.Fprintf(w, "Ages above %d are in it: %d. --top-age %d leaves out what was computed from them.\n", oldest, r.Old, oldest+1)
	case len(r.notAgain) == 0:
		fmt.Fprintf(w, "Ages above %d: none in it.\n", oldest)
	}
	counted(w, "Not there, and so not recomputable: computed from an age, by method", r.notAgain)
	counted(w, "Withheld: that there is a text, without the text", r.withheld)
	counted(w, "Dropped", r.dropped)
}

func counted(w io.Writer, title string, counts map[string]int) {
	if len(counts) == 0 {
		return
	}
	fmt.Fprintf(w, "%s:\n", title)
	for _, name := range slices.SortedFunc(maps.Keys(counts), func(a, b string) int { return cmp.Or(counts[b]-counts[a], cmp.Compare(a, b)) }) {
		fmt.Fprintf(w, "%8d  %.80q\n", counts[name], name)
	}
}
