package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// amended copies a log with one weight corrected and one session taken out,
// with all its rows.
func amended(log, to string) error {
	if err := os.MkdirAll(to, 0o700); err != nil {
		return err
	}
	entries, err := os.ReadDir(log)
	if err != nil {
		return err
	}
	sessions, err := read(filepath.Join(log, "sessions.csv"))
	if err != nil {
		return err
	}
	gone, err := correct(sessions)
	if err != nil {
		return err
	}
	for _, e := range entries {
		from, into := filepath.Join(log, e.Name()), filepath.Join(to, e.Name())
		if !strings.HasSuffix(e.Name(), ".csv") {
			text, err := os.ReadFile(from)
			if err == nil {
				err = os.WriteFile(into, text, 0o600)
			}
			if err != nil {
				return err
			}
			continue
		}
		rows := sessions
		if e.Name() != "sessions.csv" {
			if rows, err = read(from); err != nil {
				return err
			}
		}
		if err := write(into, without(rows, gone)); err != nil {
			return err
		}
	}
	return nil
}

// together copies a log in which the first five sessions were all written down
// at one time, as by somebody who catches up.
func together(log, to string) error {
	if err := os.CopyFS(to, os.DirFS(log)); err != nil {
		return err
	}
	file := filepath.Join(to, "sessions.csv")
	rows, err := read(file)
	if err != nil {
		return err
	}
	entered, date := slices.Index(rows[0], "entered_at"), slices.Index(rows[0], "date")
	const sessions = 5
	if entered < 0 || date < 0 || len(rows) <= sessions {
		return fmt.Errorf("sessions.csv has no column entered_at, or few rows")
	}
	for _, row := range rows[1 : sessions+1] {
		row[entered] = rows[sessions][date] + "T23:50"
	}
	return write(file, rows)
}

// correct mends the first weight before, and names the last session that was
// done, to be taken out.
func correct(sessions [][]string) (gone string, err error) {
	weight, status := slices.Index(sessions[0], "weight_before_kg"), slices.Index(sessions[0], "status")
	id := slices.Index(sessions[0], "session")
	if weight < 0 || status < 0 || id < 0 {
		return "", fmt.Errorf("sessions.csv has not the columns that are changed")
	}
	mended := ""
	for _, row := range sessions[1:] {
		kg, err := strconv.ParseFloat(row[weight], 64)
		if row[status] != "done" || err != nil {
			continue
		}
		if mended == "" {
			mended = row[id]
			row[weight] = strconv.FormatFloat(kg+0.1, 'f', 1, 64)
		}
		gone = row[id]
	}
	if gone == mended {
		return "", fmt.Errorf("the log needs two sessions that were done")
	}
	return gone, nil
}

// without leaves out a session's rows.
func without(rows [][]string, session string) [][]string {
	id := slices.Index(rows[0], "session")
	return slices.DeleteFunc(slices.Clone(rows), func(row []string) bool { return row[id] == session })
}

func read(file string) ([][]string, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err == nil && (len(rows) == 0 || !slices.Contains(rows[0], "session")) {
		err = fmt.Errorf("%s has no column session", filepath.Base(file))
	}
	return rows, err
}

func write(file string, rows [][]string) error {
	var text strings.Builder
	w := csv.NewWriter(&text)
	if err := w.WriteAll(rows); err != nil {
		return err
	}
	return os.WriteFile(file, []byte(text.String()), 0o600)
}
