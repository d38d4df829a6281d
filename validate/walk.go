package validate

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"runsheet.example/validate/manifest"
	"runsheet.example/validate/month"
)

// folder sends every FHIR file below a folder as parts, in lexical order, and
// then the folder itself for comparison with its manifest.
func (s *source) folder(folder string) error {
	w := &walk{source: s, folder: folder, manifests: map[string]*month.Manifest{}}
	// The separator at the end follows a link to the folder itself. Links
	// below it are not followed, since they may form a cycle.
	if err := filepath.WalkDir(folder+string(filepath.Separator), w.visit); err != nil {
		return err
	}
	if w.count == 0 {
		return fmt.Errorf("folder %s holds no .json or .ndjson file", folder)
	}
	for _, dir := range slices.Sorted(maps.Keys(w.manifests)) {
		if err := s.verify(dir, w.manifests[dir]); err != nil {
			return err
		}
	}
	return s.passedOver(w)
}

// walk is the state of walking one folder.
type walk struct {
	*source
	folder    string
	manifests map[string]*month.Manifest // by folder
	count     int                        // of files
	lastBare  string
	// Counts of what is not opened: hidden folders, links to folders,
	// compressed files, and anything but files.
	hidden, links, zipped, others passed
	index                         passed // of a FHIR package
	kept                          passed // of deliveries and of a unit's inbox
	bare                          passed // folders with files and no manifest
}

// passed counts what was skipped.
type passed struct {
	count int
	first string
}

func (p *passed) add(path string) {
	if p.count++; p.count == 1 {
		p.first = path
	}
}

func (p *passed) note(what string) []string {
	if p.count == 0 {
		return nil
	}
	return []string{fmt.Sprintf("%s: %d, the first %s", what, p.count, p.first)}
}

// passedOver reports what was skipped as not checked.
func (s *source) passedOver(w *walk) error {
	notes := slices.Concat(
		w.hidden.note("hidden folders"),
		w.links.note("what links to folders lead to, which are not followed"),
		w.zipped.note("compressed files, which are not unpacked"),
		w.others.note("what has the name of a FHIR file and is no file, such as a pipe"),
		w.index.note("files that list what a FHIR package holds"),
		w.kept.note("receipts, and what receive keeps of an inbox"),
		w.bare.note("whether anything is missing, in folders without a manifest"),
	)
	if len(notes) == 0 {
		return nil
	}
	return s.fill(part{name: w.folder, notes: notes})
}

func (w *walk) visit(path string, entry fs.DirEntry, err error) error {
	if err != nil {
		return err
	}
	if path = filepath.Clean(path); entry.IsDir() {
		return w.dir(path, entry.Name())
	}
	mode := entry.Type()
	if isFHIR := isFHIRFile(entry.Name()); mode&fs.ModeSymlink != 0 {
		if w.opts.Flat {
			w.links.add(path)
			return nil
		}
		info, err := os.Stat(path)
		switch {
		case err == nil && info.IsDir():
			w.links.add(path)
			return nil
		case !isFHIR:
			return nil
		case err != nil:
			return err
		}
		mode = info.Mode()
	} else if !isFHIR {
		if isFHIRFile(strings.TrimSuffix(strings.ToLower(entry.Name()), ".gz")) {
			w.zipped.add(path)
		}
		return nil
	}
	if !mode.IsRegular() {
		w.others.add(path)
		return nil
	}
	if path == w.opts.Manifest || w.isManifest(path, entry.Name()) {
		return nil
	}
	if entry.Name() == "package.json" || entry.Name() == ".index.json" {
		w.index.add(path)
		return nil
	}
	if w.keptBeside(path, entry.Name()) {
		w.kept.add(path)
		return nil
	}
	w.count++
	if dir := filepath.Dir(path); w.manifests[dir] == nil && dir != w.lastBare {
		w.lastBare = dir
		w.bare.add(dir)
	}
	return w.file(path, entry.Name(), sizeOf(path), w.manifests[filepath.Dir(path)])
}

// keptBeside reports whether a file is one that send or receive keeps beside
// exports, and no record.
func (w *walk) keptBeside(path, name string) bool {
	if name != manifest.Received && name != manifest.Status {
		return strings.HasSuffix(name, manifest.ReceiptEnding)
	}
	info, err := os.Stat(filepath.Join(filepath.Dir(path), "people"))
	return err == nil && info.IsDir()
}

func (w *walk) dir(path, name string) error {
	isRoot := path == filepath.Clean(w.folder)
	if w.opts.Flat && !isRoot {
		return filepath.SkipDir
	}
	if !isRoot && strings.HasPrefix(name, ".") {
		w.hidden.add(path)
		return filepath.SkipDir
	}
	if w.opts.Manifest != "" && !isRoot {
		return nil // the given manifest is that of the given folder
	}
	m, err := w.manifestFor(path)
	if m != nil {
		w.manifests[path] = m
	}
	return err
}
