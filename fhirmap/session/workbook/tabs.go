package workbook

import (
	"bytes"
	"os"
)

// Tabs returns the names of the sheets of a workbook file, in the order in which
// it has them. The error is that of a file that is no workbook or cannot be read.
func Tabs(path string) ([]string, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return TabsIn(data)
}

// TabsIn is [Tabs] of a workbook in memory.
func TabsIn(data []byte) ([]string, error) {
	c, err := openContainer(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	_, tabs, _, err := c.directory()
	names := make([]string, len(tabs))
	for i, t := range tabs {
		names[i] = t.name
	}
	return names, err
}
