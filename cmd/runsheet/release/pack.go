package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io/fs"
	"time"
)

// file is a file of an archive.
type file struct {
	name      string
	text      []byte
	isProgram bool
}

func (f *file) mode() fs.FileMode {
	if f.isProgram {
		return 0o755
	}
	return 0o644
}

// packedAt is the time of every file, the first that a ZIP archive can hold.
var packedAt = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// tarred packs the files below a folder as tar.gz.
func tarred(folder string, files []file) ([]byte, error) {
	var out bytes.Buffer
	compressed, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	archive := tar.NewWriter(compressed)
	for _, f := range files {
		header := tar.Header{Name: folder + "/" + f.name, Mode: int64(f.mode()), Size: int64(len(f.text)), ModTime: packedAt}
		if err := archive.WriteHeader(&header); err != nil {
			return nil, err
		}
		if _, err := archive.Write(f.text); err != nil {
			return nil, err
		}
	}
	err = errors.Join(archive.Close(), compressed.Close())
	return out.Bytes(), err
}

// zipped packs the files below a folder as ZIP.
func zipped(folder string, files []file) ([]byte, error) {
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	for _, f := range files {
		header := zip.FileHeader{Name: folder + "/" + f.name, Method: zip.Deflate, Modified: packedAt}
		header.SetMode(f.mode())
		w, err := archive.CreateHeader(&header)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.text); err != nil {
			return nil, err
		}
	}
	err := archive.Close()
	return out.Bytes(), err
}
