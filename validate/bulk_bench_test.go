package validate_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"runsheet.example/validate"
)

// BenchmarkJobs checks a folder of 200 sessions, each of another patient, with
// one checker and with more.
// Even one leaves the reading and the comparison of documents to other
// processors: run it with GOMAXPROCS=1 to see what one does alone.
func BenchmarkJobs(b *testing.B) {
	const sessions = 200
	dir := b.TempDir()
	size := 0
	for i, text := range corpus(b, sessions) {
		size += len(text)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%03d.json", i)), text, 0o600); err != nil {
			b.Fatal(err)
		}
	}
	for _, jobs := range []int{1, 2, 4, 8} {
		b.Run(fmt.Sprint(jobs), func(b *testing.B) {
			b.SetBytes(int64(size))
			for b.Loop() {
				found, err := validate.Paths(context.Background(), []string{dir}, nil, validate.Options{Jobs: jobs})
				if err != nil || found.Files != sessions || found.HasErrors() {
					b.Fatalf("%d files, error %v", found.Files, err)
				}
			}
		})
	}
}
