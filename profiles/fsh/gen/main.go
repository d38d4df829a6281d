// Command gen writes the FSH that repeats what the Go tables hold: the local
// code system, the algorithms, the value sets made of measurements, the units
// each code may be written in, and the map to standard codes. The tables are
// the one source; this keeps the profiles from drifting away from them.
//
//	go run ./profiles/fsh/gen            writes profiles/fsh/input/fsh/generated
//	go run ./profiles/fsh/gen -check     fails if what is there differs
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	out := flag.String("o", filepath.Join("profiles", "fsh", "input", "fsh", "generated"), "folder to write")
	check := flag.Bool("check", false, "compare instead of writing")
	flag.Parse()
	if err := run(*out, *check); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

func run(folder string, check bool) error {
	for _, f := range generated() {
		path := filepath.Join(folder, f.name)
		if !check {
			if err := os.WriteFile(path, []byte(f.text), 0o644); err != nil {
				return err
			}
			continue
		}
		have, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if string(have) != f.text {
			return fmt.Errorf("%s does not agree with the Go tables: run go generate ./profiles", path)
		}
	}
	return nil
}

// file is one generated file.
type file struct{ name, text string }

const header = "// Made from the Go tables by profiles/fsh/gen. Do not edit.\n\n"

// generated returns every file, in a fixed order.
func generated() []file {
	return []file{
		{"codes.fsh", header + localCodes()},
		{"algorithms.fsh", header + algorithms()},
		{"valuesets.fsh", header + valueSets()},
		{"units.fsh", header + unitInvariants()},
		{"map.fsh", header + conceptMap() + emptyMap()},
	}
}
