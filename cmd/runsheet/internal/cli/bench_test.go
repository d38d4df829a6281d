package cli

import (
	"context"
	"io"
	"path/filepath"
	"testing"
)

// BenchmarkExportMonth is the main job on the demo month: read, check, map,
// validate with both engines, write.
func BenchmarkExportMonth(b *testing.B) {
	dir := b.TempDir()
	quiet := streams{out: io.Discard, err: io.Discard}
	for b.Loop() {
		out := filepath.Join(dir, "out")
		if code := run(context.Background(), []string{"export", "../../../../testdata/month", "-o", out, "--force"}, quiet); code != exitDone {
			b.Fatalf("exit code %d", code)
		}
	}
}
