package doc

import (
	"slices"
	"strings"

	"runsheet.example/validate/issue"
)

// Finding returns a finding of the given rule about the value. Severity and
// mend come from the rules table; file, line, column and expression come from
// the document. The caller sets Value and Expected.
func (d *Doc) Finding(n Node, rule string, details issue.Text) issue.Finding {
	f := issue.At(rule)
	f.File, f.Details = d.File, details
	if n >= 0 {
		f.Line, f.Column = d.Position(d.Offset(n))
		if d.Kind(n) == Array && d.Count(n) > 1 {
			n = d.FirstChild(n)
		}
		f.Expression = d.Path(n)
	}
	return f
}

// Excerpt formats a value for a finding: as written, without the quotes of a
// string, truncated if long.
func (d *Doc) Excerpt(n Node) string {
	const enough = 120
	text := d.Str(n)
	if d.Kind(n) != String {
		text = d.Raw(n)
	}
	if len(text) > enough {
		return string(text[:enough]) + "..."
	}
	return string(text)
}

// Position returns line and column of a byte offset. Both count from 1, the
// column in bytes. The line index is built at the first call.
func (d *Doc) Position(offset int) (line, column int) {
	if len(d.lineStarts) == 0 {
		d.lineStarts = append(d.lineStarts, 0)
		for i, c := range d.Data {
			if c == '\n' {
				d.lineStarts = append(d.lineStarts, uint32(i+1))
			}
		}
	}
	at, found := slices.BinarySearch(d.lineStarts, uint32(offset))
	if !found {
		at--
	}
	return at + 1, offset - int(d.lineStarts[at]) + 1
}

// report adds a finding of the bytes layer at an offset, up to maxFindings.
func (d *Doc) report(offset int, n Node, rule, details string) {
	if len(d.findings) >= maxFindings {
		return
	}
	f := issue.At(rule)
	f.File = d.File
	f.Line, f.Column = d.Position(offset)
	f.Expression = d.Path(n)
	f.Details = issue.T(details)
	if rule == "json-duplicate-key" {
		f.Value = strings.Clone(string(d.Key(n)))
	}
	d.findings = append(d.findings, f)
	if len(d.findings) == maxFindings {
		more := issue.At("json-more")
		more.File = d.File
		more.Details = issue.T("there may be more faults of this kind; they are not listed")
		d.findings = append(d.findings, more)
	}
}

// fail reports a fault after which parsing stops.
func (d *Doc) fail(offset int, rule, details string) {
	d.broken = true
	d.report(offset, None, rule, details)
}
