// Command delivery sends a log to a server that is not ours and holds what
// stands there afterwards against the export: each resource once, with its
// content and its references, and nothing else.
//
//	go run ./profiles/fsh/interop/delivery -runsheet bin/runsheet -log testdata/month -- SERVER ARGUMENT...
//
// The server must listen on this computer, print its base URL as the first
// line and end with its standard input. For each form of sending it is started
// anew, empty.
package main

import (
	"flag"
	"fmt"
	"io"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"
)

func main() {
	program := flag.String("runsheet", "bin/runsheet", "the program")
	folder := flag.String("log", "testdata/month", "a log in a folder of CSV files")
	styles := flag.String("styles", strings.Join(all, ","), "the forms to try")
	flag.Parse()
	log.SetFlags(0)
	if err := deliver(*program, *folder, strings.Split(*styles, ","), flag.Args()); err != nil {
		log.Fatal(err)
	}
}

// step is one line of the table.
type step struct {
	style, what      string
	requests, writes int
	took             time.Duration
	counts           map[string]int
	differences      []string
}

// all are the forms of sending; posted are the files as they are, as anyone may
// send them.
var all = []string{posted, "transaction", "batch", "single", "put"}

const posted = "posted"

// deliver tries each form of sending at a server of its own.
func deliver(program, folder string, styles, command []string) error {
	program, err := filepath.Abs(program)
	if err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "delivery")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	var steps []step
	for _, style := range styles {
		if !slices.Contains(all, style) {
			return fmt.Errorf("-styles: %q is none of %v", style, all)
		}
		log.Printf("%s: starting the server", style)
		s, err := start(command)
		if err != nil {
			return err
		}
		run := &run{
			program: program, log: folder, work: filepath.Join(work, style), server: s, style: style,
			createPatient: slices.Index(all, style)%2 == 0,
		}
		err = run.all()
		s.stop()
		steps = append(steps, run.steps...)
		if err != nil {
			steps = append(steps, step{style: style, what: "failed", differences: []string{err.Error()}})
		}
	}
	return report(os.Stdout, steps)
}

// report prints the table and what differs.
func report(w io.Writer, steps []step) error {
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprint(table, "style\tstep\trequests\twrites\tseconds\t")
	for _, t := range types {
		fmt.Fprintf(table, "%s\t", t)
	}
	fmt.Fprint(table, "differences\t\n")
	found := 0
	for _, s := range steps {
		fmt.Fprintf(table, "%s\t%s\t%d\t%d\t%.1f\t", s.style, s.what, s.requests, s.writes, s.took.Seconds())
		for _, t := range types {
			fmt.Fprintf(table, "%d\t", s.counts[t])
		}
		fmt.Fprintf(table, "%d\t\n", len(s.differences))
		found += len(s.differences)
	}
	if err := table.Flush(); err != nil {
		return err
	}
	const most = 10
	for _, s := range steps {
		for i, d := range s.differences {
			if i == most {
				fmt.Fprintf(w, "%s, %s: and %d more\n", s.style, s.what, len(s.differences)-most)
				break
			}
			fmt.Fprintf(w, "%s, %s: %s\n", s.style, s.what, d)
		}
	}
	if found > 0 {
		return fmt.Errorf("%d differences between the server and the log", found)
	}
	return nil
}
