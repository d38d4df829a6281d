// Command runsheet carries a home dialysis patient's treatment log into the
// hospital's record system. See README.md.
package main

import (
	"os"

	"runsheet.example/cmd/runsheet/internal/cli"
)

func main() { os.Exit(cli.Main()) }
