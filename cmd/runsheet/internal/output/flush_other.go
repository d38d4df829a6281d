//go:build !linux

package output

import (
	"errors"
	"os"
	"path/filepath"

	"runsheet.example/fhirmap/session/hold"
)

// flush writes the folder's files to the disk.
func (f *Folder) flush() error {
	for _, name := range f.names {
		file, err := os.OpenFile(filepath.Join(f.temporary, name), os.O_WRONLY, 0)
		if err == nil {
			err = errors.Join(file.Sync(), file.Close())
		}
		if err != nil {
			return err
		}
	}
	hold.SyncFolder(f.temporary)
	return nil
}
