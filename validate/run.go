package validate

import (
	"context"
	"io"

	"runsheet.example/validate/issue"
)

// run is one call of Paths or Bytes.
type run struct {
	opts Options
	out  Report
}

func newRun(opts Options) *run { return &run{opts: opts} }

func (r *run) path(context.Context, string, io.Reader) error { return nil }

func (r *run) document([]byte, string) {}

func (r *run) report() *Report {
	issue.Sort(r.out.Findings)
	return &r.out
}
