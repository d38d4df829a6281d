package open

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"sync"
	"time"

	"runsheet.example/validate/issue"
)

//go:embed pages
var assets embed.FS

// frame is what every page has around its content.
type frame struct {
	Lang issue.Language
	// Title is the name of the page; the browser's title begins with "Error: "
	// if there are mistakes on it.
	Title    string
	Mistakes bool
	Nav      string // the page in the navigation that is open
	Log      string // where the log is, "" without one
	Said     string // what was just done
	Failed   string // what could not be done
	Digest   string // the version of the log that the page was made from
	CanUndo  bool   // a save can be undone
	Data     any
}

// pagesIn holds the templates of each language.
var pagesIn = sync.OnceValues(func() (map[issue.Language]*template.Template, error) {
	all := map[issue.Language]*template.Template{}
	for _, tag := range issue.Languages() {
		pages, err := parsePages(issue.Language(tag))
		if err != nil {
			return nil, err
		}
		all[issue.Language(tag)] = pages
	}
	return all, nil
})

func parsePages(l issue.Language) (*template.Template, error) {
	return template.New("").Funcs(template.FuncMap{
		"t":     func(key string, args ...any) string { return l.Text(issue.T(key, args...)) },
		"path":  monthPath,
		"upper": upper,
		"unit":  unitWords,
		"day":   func(t time.Time) string { return dayIn(l, t) },
		"month": func(t time.Time) string { return monthIn(l, t) },
		"many": func(n int, one, many string) string {
			return l.Text(issue.T(issue.OneOrMany(n, one, many), n))
		},
		"weekdays": func() []string { return append(weekdayKeys[1:], weekdayKeys[0]) },
	}).ParseFS(assets, "pages/*.html")
}

var weekdayKeys = [...]string{"Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"}

// dayIn writes a day in words: Monday 3 November 2025.
func dayIn(l issue.Language, t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return l.Text(issue.T("{}, {}", issue.T(weekdayKeys[t.Weekday()]), issue.Date(t)))
}

func monthIn(l issue.Language, t time.Time) string {
	return l.Text(issue.T(t.Month().String())) + " " + fmt.Sprint(t.Year())
}

// render writes a page. It makes the whole page first, so that a fault leaves
// no half page.
func (s *server) render(w http.ResponseWriter, status int, name string, f frame) {
	pages, err := pagesIn()
	var out bytes.Buffer
	if err == nil {
		err = pages[f.Lang].ExecuteTemplate(&out, name+".html", f)
	}
	if err != nil {
		http.Error(w, "The page could not be made: "+err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(bytes.TrimSpace(out.Bytes())) // the browser may be gone
}

// asset serves a file of the program.
func asset(name, kind string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		data, err := assets.ReadFile("pages/" + name)
		if err != nil {
			http.Error(w, err.Error(), http.StatusNotFound)
			return
		}
		w.Header().Set("Content-Type", kind)
		_, _ = w.Write(data)
	}
}

// languageOf is the language of the log, or of the browser where the log names
// none.
func languageOf(named string, r *http.Request) issue.Language {
	if named == "" {
		named = strings.ToLower(r.Header.Get("Accept-Language") + "  ")[:2]
	}
	l, _ := issue.ParseLanguage(named) // English for one without a catalogue
	return l
}
