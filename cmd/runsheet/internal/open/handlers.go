package open

import (
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/edit"
	"runsheet.example/validate/issue"
)

// maxForm is the size of what a page may send: a session with all its texts.
const maxForm = 4 << 20

// pages are the pages behind the guard.
func (s *server) pages() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { s.start(w, r, frame{}) })
	mux.HandleFunc("GET /style.css", asset("style.css", "text/css; charset=utf-8"))
	mux.HandleFunc("GET /script.js", asset("script.js", "text/javascript; charset=utf-8"))
	mux.HandleFunc("POST /begin", s.begin)
	mux.HandleFunc("POST /file", s.chosen)
	mux.HandleFunc("POST /copy", s.confirmed)
	mux.HandleFunc("GET /month/{month}", s.month)
	mux.HandleFunc("GET /new", s.withLog(s.newSession))
	mux.HandleFunc("GET /session/{row}", s.withLog(s.showSession))
	mux.HandleFunc("POST /session/{row}", s.withLog(s.saveSession))
	mux.HandleFunc("POST /session/{row}/remove", s.withLog(s.removeSession))
	mux.HandleFunc("GET /about", s.withLog(s.about))
	mux.HandleFunc("POST /about", s.withLog(s.saveAbout))
	mux.HandleFunc("GET /measures", s.withLog(s.measures))
	mux.HandleFunc("GET /report.pdf", s.withLog(s.report))
	mux.HandleFunc("GET /clinic", s.clinic)
	mux.HandleFunc("POST /export", s.withLog(s.exportFolder))
	mux.HandleFunc("GET /download", s.download)
	mux.HandleFunc("POST /undo", s.withLog(s.undo))
	mux.HandleFunc("POST /close", s.closePage)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, r, http.StatusNotFound, "there is no such page")
	})
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.last.Store(s.opts.Now().UnixNano())
		mux.ServeHTTP(w, r)
	})
}

func (f frame) say(key string, args ...any) string { return f.Lang.Text(issue.T(key, args...)) }

// openLog reads the form and the log of a request, and makes the frame of its
// page. It answers the request itself if it returns false.
func (s *server) openLog(w http.ResponseWriter, r *http.Request) (*edit.Log, frame, bool) {
	r.Body = http.MaxBytesReader(w, r.Body, maxForm)
	var tooLarge *http.MaxBytesError
	if err := r.ParseForm(); errors.As(err, &tooLarge) {
		s.fail(w, r, http.StatusRequestEntityTooLarge, "that is more than a page can hold; nothing was saved")
		return nil, frame{}, false
	} else if err != nil {
		s.fail(w, r, http.StatusBadRequest, "the page was not understood; nothing was saved")
		return nil, frame{}, false
	}
	l, err := s.files.Open(s.opts.Log)
	if err != nil {
		if s.missing() {
			http.Redirect(w, r, "/", http.StatusSeeOther)
		} else {
			s.fail(w, r, http.StatusInternalServerError, err.Error())
		}
		return nil, frame{}, false
	}
	return l, frame{Lang: languageOf(l.About("log.language"), r), Log: filepath.Base(s.opts.Log), Digest: l.Digest(), CanUndo: l.CanUndo()}, true
}

// withLog is a handler of a page that is made from the log.
func (s *server) withLog(page func(w http.ResponseWriter, r *http.Request, l *edit.Log, f frame)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if l, f, ok := s.openLog(w, r); ok {
			page(w, r, l, f)
		}
	}
}

// missing reports whether there is no log yet.
func (s *server) missing() bool {
	_, err := os.Stat(s.opts.Log)
	return errors.Is(err, os.ErrNotExist)
}

// plainFrame is the frame of a page that is not made from the log, which may
// not be readable.
func (s *server) plainFrame(r *http.Request) frame {
	if l, err := s.files.Open(s.opts.Log); err == nil {
		return frame{Lang: languageOf(l.About("log.language"), r), Digest: l.Digest(), CanUndo: l.CanUndo()}
	}
	return frame{Lang: languageOf("", r)}
}

// fail shows why something could not be done.
func (s *server) fail(w http.ResponseWriter, r *http.Request, status int, why string) {
	f := s.plainFrame(r)
	f.Log, f.Mistakes, f.Title = filepath.Base(s.opts.Log), true, f.say("This did not work")
	f.Failed = upper(f.say(why))
	s.render(w, status, "message", f)
}

// closing is how long the last page has to fetch its style.
const closing = time.Second

// closePage ends the program.
func (s *server) closePage(w http.ResponseWriter, r *http.Request) {
	f := s.plainFrame(r)
	f.Title = f.say("Closed")
	f.Said = f.say("Runsheet is closed. Everything you saved is on this computer. You can close this window.")
	s.render(w, http.StatusOK, "message", f)
	time.AfterFunc(closing, func() { s.end("on the page") })
}

// begin writes an empty log.
func (s *server) begin(w http.ResponseWriter, r *http.Request) {
	if !s.missing() {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	s.own = nil
	err := os.MkdirAll(filepath.Dir(s.opts.Log), 0o700)
	if err == nil {
		l := languageOf("", r)
		clinic := session.Clinic{TimeZone: zoneHere(), Languages: []string{string(l)}}
		if l != issue.English { // which is written in many countries
			clinic.DecimalMark, clinic.DateStyle = l.DecimalMark(), l.DateStyle()
		}
		err = session.WriteTemplate(s.opts.Log, session.TemplateOptions{LogID: s.opts.LogID, Clinic: clinic})
	}
	if err == nil {
		err = s.hold()
	}
	if err != nil {
		s.fail(w, r, http.StatusInternalServerError, err.Error())
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// zoneHere is the name of this computer's time zone, "" where it is not known.
func zoneHere() string {
	if name := time.Local.String(); name != "Local" && name != "UTC" {
		return name
	}
	if to, err := os.Readlink("/etc/localtime"); err == nil {
		for dir := filepath.Dir(to); dir != "/" && dir != "."; dir = filepath.Dir(dir) {
			if filepath.Base(dir) == "zoneinfo" {
				if name, err := filepath.Rel(dir, to); err == nil {
					return filepath.ToSlash(name)
				}
			}
		}
	}
	return ""
}
