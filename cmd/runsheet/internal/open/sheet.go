package open

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"path/filepath"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/workbook"
)

// take makes the log a copy of a file of the person's own, which stays as it is.
func (s *server) take(name string, data []byte) error {
	if !workbook.Named(name) {
		return fmt.Errorf("%s: this is no workbook (.xlsx)", name)
	}
	grid, err := workbook.ReadGrid(data)
	if err == nil {
		err = session.WriteGrid(s.opts.Log, grid)
	}
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	s.copied = name
	s.opts.Say(fmt.Sprintf("%s is copied to the log %s; the file itself is not changed.", name, s.opts.Log))
	return s.hold()
}

// chosen takes the file that was chosen or dropped on the first page.
func (s *server) chosen(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, session.MaxBytes+maxForm)
	file, header, err := r.FormFile("file")
	var data []byte
	if err == nil {
		defer file.Close()
		data, err = io.ReadAll(file)
	}
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &tooLarge) || len(data) > session.MaxBytes:
		s.fail(w, r, http.StatusRequestEntityTooLarge, session.TooManyBytes)
		return
	case err != nil:
		s.fail(w, r, http.StatusBadRequest, "choose a file first")
		return
	}
	if s.missing() {
		if err := s.take(filepath.Base(header.Filename), data); err != nil {
			s.fail(w, r, http.StatusUnprocessableEntity, err.Error())
			return
		}
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}
