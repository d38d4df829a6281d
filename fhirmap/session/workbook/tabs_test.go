package workbook_test

import (
	"slices"
	"testing"

	"runsheet.example/fhirmap/session/workbook"
)

func TestTabs(t *testing.T) {
	data, err := workbook.Bytes(workbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := workbook.Tabs(data)
	at := func(name string) int { return slices.Index(got, name) }
	if err != nil || at("About") < 0 || at("Sessions") < at("About") || at("Readings") < at("Sessions") {
		t.Errorf("got %q, error %v", got, err)
	}
	if _, err := workbook.Tabs([]byte("no workbook")); err == nil {
		t.Error("what is no workbook gives no error")
	}
}
