package session

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"runsheet.example/profiles"
)

// TemplateOptions are what the writer of an empty log puts in for the person.
type TemplateOptions struct {
	// LogID is the log's UUID, made by the caller once for each new log.
	LogID string
	// Clinic is what the person's clinic knows already; what is empty in it is
	// left for the person to fill in.
	Clinic Clinic
	// Short leaves out the file of what is done before a treatment.
	Short bool
}

//go:embed template/log.toml
var aboutTemplate string

//go:embed template/READ-ME-FIRST.txt
var readMeFirst string

// WriteTemplate writes an empty log to fill in: log.toml with a word on every
// line, the CSV files with their headings, and READ-ME-FIRST.txt.
//
// The folder must not exist yet: [fs.ErrExist] otherwise, and nothing is
// written. It appears whole or not at all, readable by its owner only.
func WriteTemplate(dir string, opts TemplateOptions) error {
	files, err := templateFiles(opts)
	if err != nil {
		return err
	}
	return writeNew(dir, files)
}

// writeNew writes a log folder that must not exist yet.
func writeNew(dir string, files []templateFile) error {
	if _, err := os.Lstat(dir); err == nil {
		return fmt.Errorf("%s: %w; an existing log is never written over", dir, fs.ErrExist)
	} else if !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("writing the log: %w", err)
	}
	dir = filepath.Clean(dir)
	// A temporary folder beside the target can be renamed in one step.
	temp, err := os.MkdirTemp(filepath.Dir(dir), "."+filepath.Base(dir)+"-")
	if err != nil {
		return fmt.Errorf("writing the log: %w", err)
	}
	if err = writeAll(temp, files); err == nil {
		err = os.Rename(temp, dir)
	}
	if err != nil {
		os.RemoveAll(temp)
		return fmt.Errorf("writing the log to %s: %w", dir, err)
	}
	return nil
}

// templateFile is one file of a new log.
type templateFile struct {
	name string
	data []byte
}

func templateFiles(opts TemplateOptions) ([]templateFile, error) {
	quoted := template.FuncMap{"quoted": TOMLString, "or": func(text, other string) string { return cmp.Or(text, other) }}
	about, err := template.New(aboutFile).Funcs(quoted).Parse(aboutTemplate)
	if err != nil {
		return nil, fmt.Errorf("writing the empty log: %w", err)
	}
	var text bytes.Buffer
	if err := about.Execute(&text, opts); err != nil {
		return nil, fmt.Errorf("writing the empty log: %w", err)
	}
	files := []templateFile{
		{"READ-ME-FIRST.txt", crlf([]byte(readMeFirst + aboutWords(opts.Short) + aboutChecks(opts.Short)))},
		{aboutFile, crlf(text.Bytes())},
	}
	for _, sheet := range sheets {
		if opts.Short && sheet == SheetChecks || sheet == SheetAnswers {
			continue
		}
		data, err := headingsOf(opts.Clinic.Units.ColumnsOf(sheet))
		if err != nil {
			return nil, err
		}
		files = append(files, templateFile{string(sheet) + ".csv", data})
	}
	return files, nil
}

// aboutWords lists the columns that have words of their own, with these; [aboutChecks]
// explains those for checks.
func aboutWords(short bool) string {
	text := "\nColumns with words of their own\n"
	for _, c := range Columns {
		if c.Choices != nil && !slices.Contains([]string{"clock_change", "what"}, c.Name) && !(short && c.Sheet == SheetChecks) {
			text += "  " + string(c.Sheet) + ".csv, " + c.Name + ": " + strings.Join(c.Choices, ", ")
			if c.Kind == KindText {
				text += ", or other words"
			}
			text += "\n"
		}
	}
	return text
}

// aboutChecks lists the words for checks, and what each is for.
func aboutChecks(short bool) string {
	if short {
		return ""
	}
	text := "\nThe words for checks.csv, and what each is for (" + profiles.CommonPractice + " where no source stands)\n"
	for _, k := range profiles.CheckKinds() {
		text += "  " + k.Name + ": " + k.For
		if k.Source != profiles.CommonPractice {
			text += " (" + strings.TrimSuffix(k.Source, " (memory)") + ")"
		}
		text += "\n"
	}
	return text + "  Words of your own are taken as well. Nothing of this has to be filled in.\n"
}

// TOMLString is a text as a TOML basic string.
func TOMLString(text string) string {
	escaped := strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(text)
	var out strings.Builder
	for _, r := range escaped {
		if r < ' ' || r == 0x7F {
			fmt.Fprintf(&out, `\u%04X`, r)
		} else {
			out.WriteRune(r)
		}
	}
	return `"` + out.String() + `"`
}

// crlf writes line ends that every editor shows as such.
func crlf(text []byte) []byte {
	return bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n"))
}

// headingsOf is the heading row of columns. Spreadsheet programs recognise
// UTF-8 by the byte order mark.
func headingsOf(columns []Column) ([]byte, error) {
	var names []string
	for _, c := range columns {
		names = append(names, c.Name)
	}
	return csvOf([][]string{names})
}

// csvOf is a CSV file of rows.
func csvOf(rows [][]string) ([]byte, error) {
	var out bytes.Buffer
	out.Write(bomUTF8)
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	err := w.WriteAll(rows)
	return out.Bytes(), err
}

func writeAll(dir string, files []templateFile) error {
	for _, file := range files {
		if err := os.WriteFile(filepath.Join(dir, file.name), file.data, 0o600); err != nil {
			return err
		}
	}
	return nil
}
