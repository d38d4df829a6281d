package visit

import (
	"bytes"
	_ "embed"
	"fmt"
	"html"
	"html/template"
	"strings"

	"runsheet.example/cmd/runsheet/internal/page"
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/validate/issue"
)

//go:embed page.html
var pageText string

//go:embed page.css
var pageStyle string

var pageTemplate = template.Must(template.New("page").Parse(pageText))

// Ours reports whether a file is a report, by its first bytes.
func Ours(head []byte) bool {
	return pdf.Ours(head) || bytes.Contains(head, []byte(`<meta name="generator" content="runsheet">`))
}

// html writes the page as one HTML file. Its style is inline and named by its
// digest, so that the policy of the page forbids everything else: scripts, and
// requests to anywhere.
func (p *Page) html() ([]byte, error) {
	style := strings.NewReplacer("PAPER", p.Paper.Name, "INNER", mm(p.Paper.WidthMM-2*margin)+"mm", "MARGIN", mm(margin)+"mm").Replace(pageStyle)
	var out bytes.Buffer
	err := pageTemplate.Execute(&out, map[string]any{
		"Page": p, "Who": p.who(), "Style": template.CSS(style), "Policy": page.Policy(template.CSS(style)),
		"Wide": p.svg(p.chartForm(), "wide", p.panelHeight()), "Narrow": p.svg(narrow, "narrow", 17),
		"Tables": p.Language.Text(issue.T("Values behind the charts")), "ChartTitle": p.Language.Text(issue.T("Sessions over time")),
	})
	return out.Bytes(), err
}

// svg is the chart as an inline image with title and description.
func (p *Page) svg(f form, name string, panelHeight float64) template.HTML {
	var pen svgPen
	height := f.canvas(&pen, p.chart).draw(panelHeight)
	return template.HTML(fmt.Sprintf(`<svg class="%s" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-desc"><title id="%s-title">%s</title><desc id="%s-desc">%s</desc>%s</svg>`,
		name, mm(f.width), mm(height), name, name, name, html.EscapeString(p.Language.Text(issue.T("Sessions over time"))), name, html.EscapeString(p.chart.summary), pen.String()))
}
