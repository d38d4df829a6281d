package deliver

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"regexp"

	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
)

// Repair removes from the receipt what the server no longer has, by the
// findings of [Sender.Verify], sends it again from the export, and updates the
// references of all other resources, because a server assigns new ids. It
// accepts as ours a resource with our content under another version, as after
// a restore. Other drift stays unchanged.
func (s *Sender) Repair(ctx context.Context, folder *Folder, drifted []Drifted) error {
	moved := map[string]string{} // old reference to identity
	lacking := map[string]bool{}
	for _, d := range drifted {
		switch {
		case d.Repairable && d.Drift == Changed:
			d.Entry.Version = d.Version
			s.receipt.Put(d.Entry)
		case d.Repairable:
			moved[d.Reference()], lacking[d.Identity] = d.Identity, true
		}
	}
	if len(moved) == 0 {
		return s.save()
	}
	if err := s.confirmPatient(ctx); err != nil {
		if s.receipt.Named || len(lacking) < len(s.receipt.All()) {
			return err
		}
		s.receipt.Patient = "" // nothing exists under the old reference, so it searches
	}
	s.receipt.Forget(lacking)
	if err := s.save(); err != nil {
		return err
	}
	err := s.Folder(ctx, folder)
	var emptied *ErrEmptied
	if err != nil && !errors.As(err, &emptied) {
		return err
	}
	return errors.Join(s.relink(ctx, moved, lacking), err)
}

// anyReference matches a literal reference in compact JSON, see [toRecord].
var anyReference = regexp.MustCompile(`"reference":"([A-Za-z]+/[A-Za-z0-9.-]+)"`)

// relink updates references from the lost resources to the new ones.
func (s *Sender) relink(ctx context.Context, moved map[string]string, created map[string]bool) error {
	var entries []receipt.Entry
	for _, e := range s.receipt.All() {
		if !created[e.Identity] {
			entries = append(entries, e)
		}
	}
	there, err := s.readEntries(ctx, entries)
	if err != nil {
		return err
	}
	conflicts := &ErrConflicts{}
	for i, r := range there {
		if r == nil {
			continue
		}
		var compact bytes.Buffer
		if err := json.Compact(&compact, r.raw); err != nil {
			return errors.New("the server answered with something else than JSON")
		}
		content := anyReference.ReplaceAllFunc(compact.Bytes(), func(match []byte) []byte {
			e, ok := s.receipt.Of(moved[string(anyReference.FindSubmatch(match)[1])])
			if !ok {
				return match
			}
			return []byte(`"reference":"` + e.Reference() + `"`)
		})
		if bytes.Equal(content, compact.Bytes()) {
			continue
		}
		e := entries[i]
		ours := e.Version == r.version() // otherwise --verify still reports it
		e.Version = r.version()
		version, replaced, err := s.replace(ctx, e, content, conflicts)
		if err != nil {
			return err
		}
		if replaced && ours {
			e.Version = version
			s.receipt.Put(e)
		}
		if err := s.save(); err != nil {
			return err
		}
	}
	if len(conflicts.Conflicts) > 0 {
		return conflicts
	}
	return nil
}
