package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/xuri/excelize/v2"
)

// pack writes the parts of a workbook in the order of their names and without
// a time of day, so that equal workbooks are equal bytes.
func pack(file *excelize.File) ([]byte, error) {
	file.SetZipWriter(func(to io.Writer) excelize.ZipWriter {
		return sortedParts{zip.NewWriter(to), map[string]*bytes.Buffer{}}
	})
	packed, err := file.WriteToBuffer()
	if err != nil {
		return nil, fmt.Errorf("writing the workbook: %w", err)
	}
	return packed.Bytes(), nil
}

// sortedParts writes the parts sorted by name. The list of content types, by
// which programs recognise the format, then comes first.
type sortedParts struct {
	*zip.Writer
	parts map[string]*bytes.Buffer
}

func (s sortedParts) Create(name string) (io.Writer, error) {
	s.parts[name] = &bytes.Buffer{}
	return s.parts[name], nil
}

func (s sortedParts) Close() error {
	for _, name := range slices.Sorted(maps.Keys(s.parts)) {
		to, err := s.Writer.Create(name)
		if err != nil {
			return err
		}
		if _, err := s.parts[name].WriteTo(to); err != nil {
			return err
		}
	}
	return s.Writer.Close()
}
