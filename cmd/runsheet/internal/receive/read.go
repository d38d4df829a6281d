package receive

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/export"
	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/cmd/runsheet/internal/questionnaire"
	"runsheet.example/cmd/runsheet/internal/roster"
	"runsheet.example/fhirmap/session"
	"runsheet.example/fhirmap/session/columnmap"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/report"
)

// arrival is a log or an export with what decides whether it is taken.
type arrival struct {
	item   item
	person roster.Person
	logID  string
	// newest is the latest moment that it records, up to the run: an end, or when
	// a session was written down. Of two versions of a log the one with the later
	// moment is the newer; a later one than the run is a mistake.
	newest time.Time
	days   []string // of its sessions, sorted, each once
	// before is what an earlier run decided; then the item was not read again.
	before  *decided
	refused *refusal // why it cannot be taken
}

func (a arrival) place() string { return place(a.person.Identifier, a.logID) }

// read reads an item, unless an earlier run has decided on it.
func (r *run) read(one item) (arrival, error) {
	out := arrival{item: one}
	before, seen := r.state.Items[one.sha256]
	if seen && !before.Again {
		out.person.Identifier, out.before = roster.Identifier{System: before.System, Value: before.Value}, &before
		return out, nil
	}
	var err error
	if one.kind == exportKind {
		err = r.readExport(&out)
	} else {
		err = r.readLog(&out)
	}
	if seen && before.Newest.Before(out.newest) && !before.Newest.IsZero() { // what was later than the run then
		out.newest = before.Newest
	}
	return out, err
}

// unseen returns the arrivals that can be taken and that no earlier run has
// decided on.
func (r *run) unseen(arrived []arrival) []arrival {
	return slices.DeleteFunc(arrived, func(a arrival) bool {
		switch {
		case a.refused != nil:
			r.hold(a, a.refused)
		case a.before == nil:
			return false
		case a.before.Reason != "":
			r.hold(a, refuse("{}", a.before.Reason))
		case a.before.Name != a.item.name:
			r.same = append(r.same, Same{Item: a.item.name, As: a.before.Name})
		}
		return true
	})
}

// readLog reads a log's patient, id, days and latest moment.
func (r *run) readLog(a *arrival) error {
	log, _, err := r.log(a.item)
	if err != nil {
		return err
	}
	p, err := r.match(a, roster.Identifier{System: log.About.PatientSystem, Value: log.About.PatientValue}, log.About.Local)
	if err != nil {
		return err
	}
	if day := log.About.BirthDate; p.BirthDate != "" && day.OK() && day.Time.Format(time.DateOnly) != p.BirthDate {
		return refuse("its birth date is not the one in row {} of the roster, which has the number it gives", p.Row)
	}
	a.person, a.logID = p, log.About.LogID
	for _, s := range log.Sessions {
		if s.Date.OK() {
			a.days = append(a.days, s.Date.Time.Format(time.DateOnly))
		}
		for _, m := range []session.Moment{s.Date, s.Start, s.End, s.EnteredAt} {
			if m.OK() {
				a.until(m.Time, r.opts.Now)
			}
		}
	}
	a.tidy()
	if len(a.days) == 0 {
		return refuse("there is no session in it")
	}
	return nil
}

// until notes a moment that was recorded.
func (a *arrival) until(when, now time.Time) {
	if when.After(a.newest) && !when.After(now) {
		a.newest = when
	}
}

func (a *arrival) tidy() {
	slices.Sort(a.days)
	a.days = slices.Compact(a.days)
}

// match finds the person whom a log or an export names. It notes the number also
// if it is not that of one person.
func (r *run) match(a *arrival, i roster.Identifier, local bool) (roster.Person, error) {
	if local || i.System == "" || i.Value == "" {
		return roster.Person{}, refuse("it does not say whose it is: the number and the name of its numbering are missing, or {} cannot be read", aboutName)
	}
	p, err := r.find(i)
	if err != nil {
		a.person.Identifier = i
	}
	return p, err
}

// log reads and checks a log.
func (r *run) log(one item) (*session.Log, []issue.Finding, error) {
	in, err := r.input(one)
	if err != nil {
		return nil, nil, err
	}
	log, findings, err := in.Read()
	if err != nil {
		return nil, nil, refuse("it cannot be read: {}", strings.ReplaceAll(err.Error(), one.path, one.name))
	}
	return log, findings, nil
}

// input is how to read a log: a sheet of another shape by the map beside it, or
// else, where the folder holds no sheet of ours, by the map of its patient.
func (r *run) input(one item) (export.Input, error) {
	in := export.Input{Path: one.path}
	file := filepath.Join(one.path, mapName)
	if one.kind == logKind {
		if file = r.mapOf(one); file == "" {
			return in, nil
		}
	}
	m, err := columnmap.Load(file)
	if err != nil {
		return in, refuse("its column map cannot be read: {}", strings.ReplaceAll(err.Error(), file, filepath.Base(file)))
	}
	in.Map = m
	return in, nil
}

// find returns the person on the roster with an identifier.
func (r *run) find(i roster.Identifier) (roster.Person, error) {
	p, err := r.roster.Find(i)
	if err != nil {
		return p, refuse(err.Error()) // its text is the key, where it has no numbers
	}
	return p, nil
}

// mapOf is the roster's map for a folder that has log.toml and no sheet of ours.
func (r *run) mapOf(one item) string {
	if sheets, _ := filepath.Glob(filepath.Join(one.path, "sessions.*")); len(sheets) > 0 {
		return ""
	}
	log, _, err := session.ReadFolder(one.path, session.Options{})
	if err != nil {
		return ""
	}
	p, err := r.find(roster.Identifier{System: log.About.PatientSystem, Value: log.About.PatientValue})
	if err != nil || p.ColumnMap == "" || filepath.IsAbs(p.ColumnMap) {
		return p.ColumnMap
	}
	return filepath.Join(filepath.Dir(r.opts.Roster), p.ColumnMap)
}

// readExport reads the same from an export, whose files must be those that the
// manifest names.
func (r *run) readExport(a *arrival) error {
	folder, err := deliver.OpenFolder(a.item.path)
	if errors.Is(err, deliver.ErrForOneself) {
		return refuse("{}", deliver.ErrForOneself.Error())
	}
	if err != nil {
		return refuse("{}", strings.ReplaceAll(err.Error(), a.item.path, a.item.name))
	}
	system, value, err := folder.Person()
	if err != nil {
		return refuse("{}", err.Error())
	}
	p, err := r.match(a, roster.Identifier{System: system, Value: value}, false)
	if err != nil {
		return err
	}
	a.person = p
	a.logID = folder.LogID
	for i := range folder.Files {
		s, err := folder.Session(i)
		if err != nil {
			return refuse("{}", err.Error())
		}
		if err := a.note(s, r.opts.Now); err != nil {
			return refuse("{}: {}", folder.Files[i].File, err.Error())
		}
	}
	a.tidy()
	if len(a.days) == 0 {
		return refuse("there is no session in it")
	}
	return nil
}

// note adds the day and the moments of a session of an export.
func (a *arrival) note(s deliver.Session, now time.Time) error {
	for _, resource := range s.Resources {
		var r struct {
			Recorded          string
			PerformedDateTime string
			PerformedPeriod   struct{ Start, End string }
		}
		if resource.Type != "Procedure" && resource.Type != "Provenance" {
			continue
		}
		if err := json.Unmarshal(resource.JSON, &r); err != nil {
			return err
		}
		for i, text := range []string{r.PerformedPeriod.Start, r.PerformedDateTime, r.PerformedPeriod.End, r.Recorded} {
			if text == "" {
				continue
			}
			if i < 2 {
				a.days = append(a.days, text[:min(len(text), len(time.DateOnly))])
			}
			if when, err := time.Parse(time.RFC3339, text); err == nil {
				a.until(when, now)
			}
		}
	}
	return nil
}

// take writes the export of an arrival, the reply to its patient, and what
// received.json says of it.
func (r *run) take(ctx context.Context, a arrival) error {
	to := filepath.Join(r.opts.Work, filepath.FromSlash(a.place()))
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	before, _ := readSums(filepath.Join(to, exportName)) // none at first
	one := Log{
		Item: a.item.name, SHA256: a.item.sha256, Newest: a.newest.UTC(), Days: a.days, LogID: a.logID,
		System: a.person.System, Value: a.person.Value, Received: r.opts.Now.Format(time.DateOnly),
	}
	if a.item.kind == exportKind {
		if err := r.copyExport(ctx, a.item, to); err != nil {
			return err
		}
	} else if err := r.writeExport(ctx, a, to, &one); err != nil {
		return err
	}
	after, err := readSums(filepath.Join(to, exportName))
	if err != nil {
		return err
	}
	one.Sessions, one.LeftOut = len(after.sums), after.leftOut
	one.New, one.Changed, one.Gone = after.since(before)
	r.state.Logs[a.place()] = one
	r.decide(a, "")
	return nil
}

// The names in the folder of a log: the export, and what the patient gets back.
const (
	exportName = "export"
	replyName  = "reply.xlsx"
	listName   = "reply.txt"
)

func (r *run) writeExport(ctx context.Context, a arrival, to string, one *Log) error {
	log, findings, err := r.log(a.item)
	if err != nil {
		return err
	}
	if (roster.Identifier{System: log.About.PatientSystem, Value: log.About.PatientValue}) != a.person.Identifier || log.About.LogID != a.logID {
		return refuse("it was changed while it was read")
	}
	result, findings, err := export.Write(ctx, log, findings, export.Options{
		Mapping: r.opts.Mapping, Form: export.Sessions, Out: filepath.Join(to, exportName), Force: true,
	})
	if err != nil {
		return err
	}
	one.Errors, one.Warnings, _ = issue.Count(findings)
	if one.Reply, err = r.reply(ctx, a.item, to, log, findings); err != nil {
		return err
	}
	if result.Sessions == 0 {
		return r.unready(a, *one)
	}
	return nil
}

// unready records a log of which no session can be written: what was taken
// before stays, and the patient gets the reply.
func (r *run) unready(a arrival, one Log) error {
	reason := refuse("no session is free of mistakes ({}); send back {}", issue.T(issue.OneOrMany(one.Errors, "{} mistake", "{} mistakes"), one.Errors), a.place()+"/"+one.Reply)
	r.decide(a, r.words(reason))
	return reason
}

// reply writes what the patient gets back, if there are findings: the log as a
// workbook with them at its cells, or of a sheet of another shape or a form their
// list. It
// returns the file's name.
func (r *run) reply(ctx context.Context, one item, to string, log *session.Log, findings []issue.Finding) (string, error) {
	for _, name := range []string{replyName, listName} {
		if err := os.Remove(filepath.Join(to, name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return "", err
		}
	}
	errs, warnings, _ := issue.Count(findings)
	if errs+warnings == 0 {
		return "", nil
	}
	language, err := issue.ParseLanguage(log.About.Language)
	if err != nil {
		language = issue.English
	}
	if one.kind == logKind && r.mapOf(one) == "" && !questionnaire.Named(one.path) {
		return replyName, export.Annotate(ctx, one.path, filepath.Join(to, replyName), findings, language, r.opts.Mapping)
	}
	var text bytes.Buffer
	if err := report.Print(&text, report.Text, findings, report.Options{All: true, Language: language}); err != nil {
		return "", err
	}
	_, err = output.Single(filepath.Join(to, listName), text.Bytes(), false, nil)
	return listName, err
}
