package columnmap

import "runsheet.example/fhirmap/session"

type Draft struct{ Text string }

func (d Draft) Summary() string { return "" }

func Suggest(path string, opts session.Options) (Draft, error) { return Draft{}, nil }
