package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// pack writes the parts of a workbook in the order of their names and without
// a time of day, so that equal workbooks are equal bytes.
func pack(out io.Writer, file *excelize.File) error {
	raw, err := saved(file)
	if err != nil {
		return err
	}
	return repack(out, raw)
}

// saved is a workbook as the library writes it.
func saved(file *excelize.File) ([]byte, error) {
	var raw bytes.Buffer
	if _, err := file.WriteTo(&raw); err != nil {
		return nil, fmt.Errorf("writing the workbook: %w", err)
	}
	return raw.Bytes(), nil
}

func repack(out io.Writer, raw []byte) error {
	parts, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		return fmt.Errorf("writing the workbook: %w", err)
	}
	// Readers look for the list of content types first.
	slices.SortFunc(parts.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	packed := zip.NewWriter(out)
	for _, part := range parts.File {
		if err := copyPart(packed, part); err != nil {
			return fmt.Errorf("writing the workbook: %w", err)
		}
	}
	return packed.Close()
}

func copyPart(packed *zip.Writer, part *zip.File) error {
	from, err := part.Open()
	if err != nil {
		return err
	}
	defer from.Close()
	to, err := packed.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate})
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return err
}
