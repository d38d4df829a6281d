package visit

import (
	"bytes"
	"encoding/json"
	"errors"
	"html"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"runsheet.example/cmd/runsheet/internal/adequacy"
	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/validate/issue"
)

var tool = Options{Tool: "runsheet test"}

// made makes the report of a log folder.
func made(t testing.TB, dir string, opts Options) Report {
	t.Helper()
	record, err := FromLog(read(t, dir))
	if err != nil {
		t.Fatal(err)
	}
	report, err := Make(record, opts)
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// pages are the reports that the tests look at.
func pages(t testing.TB) map[string]Report {
	whole, letter, german := tool, tool, tool
	whole.Weeks = 53
	letter.Paper = pdf.Letter
	german.Language, german.Paper, german.BlankName = issue.German, pdf.Letter, true
	yearLetter := whole
	yearLetter.Paper = pdf.Letter
	dir := year().write(t)
	return map[string]Report{
		"month": made(t, month, tool), "month-letter": made(t, month, letter), "month-german": made(t, month, german),
		"year": made(t, dir, whole), "year-letter": made(t, dir, yearLetter), "quarter": made(t, dir, tool), "daily": made(t, daily().write(t), whole),
		"child": made(t, child().write(t), tool), "single": made(t, single().write(t), tool), "nothing-done": made(t, nothingDone().write(t), tool),
	}
}

// tool of the system that reads a file and prints to standard output.
func system(t testing.TB, file []byte, name string, args ...string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file.pdf")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(name, append(append([]string{}, args...), path, "-")...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

var (
	tag    = regexp.MustCompile(`(?s)<style>.*?</style>|<head>.*?</head>|<details>.*?</details>|<svg class="narrow".*?</svg>|<(?:title|desc) id.*?</(?:title|desc)>|<[^>]*>`)
	number = regexp.MustCompile(`−?[0-9]+(?:[.,][0-9]+)?`)
)

// numbers are the numbers of a text, without repetition.
func numbers(text string) []string {
	found := map[string]bool{}
	for _, n := range number.FindAllString(text, -1) {
		found[n] = true
	}
	return slices.Sorted(maps.Keys(found))
}

func visible(page []byte) string {
	return html.UnescapeString(tag.ReplaceAllString(string(page), " "))
}

func TestBothFilesHaveTheSameNumbers(t *testing.T) {
	for name, report := range pages(t) {
		inPDF := numbers(system(t, report.PDF, "pdftotext", "-raw"))
		if diff := cmp.Diff(numbers(visible(report.HTML)), inPDF); diff != "" {
			t.Errorf("%s (- HTML, + PDF):\n%s", name, diff)
		}
		if len(inPDF) < 5 {
			t.Errorf("%s: only %d numbers were found", name, len(inPDF))
		}
		wrong := map[issue.Language]*regexp.Regexp{issue.English: regexp.MustCompile(`[0-9],[0-9]`), issue.German: regexp.MustCompile(`[0-9]\.[0-9]`)}
		if found := wrong[report.Page.Language].FindString(html.UnescapeString(tag.ReplaceAllString(strings.NewReplacer("<details>", "", "</details>", "").Replace(string(report.HTML)), " "))); found != "" {
			t.Errorf("%s: %s has another decimal mark", name, found)
		}
	}
}

// The values behind the charts are those that adequacy prints as JSON, and the
// medians of the table those of these values.
func TestNumbersAreThoseOfAdequacy(t *testing.T) {
	for name, dir := range map[string]string{"month": month, "year": year().write(t), "child": child().write(t)} {
		var out bytes.Buffer
		if err := adequacy.Of(read(t, dir)).JSON(&out, adequacy.Options{}); err != nil {
			t.Fatal(err)
		}
		var document struct{ Values []adequacy.Row }
		if err := json.Unmarshal(out.Bytes(), &document); err != nil {
			t.Fatal(err)
		}
		record, err := FromLog(read(t, dir))
		if err != nil {
			t.Fatal(err)
		}
		compared := 0
		for _, row := range document.Values {
			i := slices.IndexFunc(record.treatments, func(t treatment) bool { return t.id == row.Session })
			if row.Scope != "session" || i < 0 || row.Value == "" {
				continue
			}
			if v, ok := record.treatments[i].values[row.Key]; ok && v.method == row.Method && v.method != "" {
				compared++
				if v.text != row.Value {
					t.Errorf("%s: %s of %s is %s, adequacy has %s", name, row.Key, row.Session, v.text, row.Value)
				}
			}
		}
		if compared < 40 {
			t.Errorf("%s: only %d values were compared", name, compared)
		}
		for _, language := range []issue.Language{issue.English, issue.German} {
			opts := tool
			opts.Weeks, opts.Language = 53, language
			report := made(t, dir, opts)
			medians(t, name, report.Page, document.Values)
			behind(t, name, report, document.Values)
		}
	}
}

// plain is a number of a page as it is computed with.
func plain(t *testing.T, page *Page, text string) string {
	t.Helper()
	if page.Language == issue.German {
		if strings.Contains(text, ".") {
			t.Errorf("%s has a decimal point in German", text)
		}
		text = strings.Replace(text, ",", ".", 1)
	}
	return strings.Replace(text, "−", "-", 1)
}

// behind compares the values behind the charts with those of adequacy, session
// by session.
func behind(t *testing.T, name string, report Report, rows []adequacy.Row) {
	t.Helper()
	page, first, compared := report.Page, report.From.Format(time.DateOnly), 0
	for column, m := range measures {
		var want []string
		for _, row := range rows {
			if row.Key == m.key && row.Scope == "session" && row.Value != "" && row.When == "" && row.Date >= first {
				want = append(want, row.Value)
			}
		}
		if m.key == "recovery_time" || len(want) == 0 { // entered
			continue
		}
		var got []string
		for _, row := range page.Data[0].Rows {
			if cell := row[column+2]; cell != "–" {
				got = append(got, plain(t, page, cell))
			}
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s, %s: %s (- adequacy, + page):\n%s", name, page.Language, m.key, diff)
		}
		compared += len(got)
	}
	if compared < 40 {
		t.Errorf("%s: only %d values were compared", name, compared)
	}
}

// medians computes the medians of the last four weeks from the values of
// adequacy, apart from the code of the page.
func medians(t *testing.T, name string, page *Page, rows []adequacy.Row) {
	t.Helper()
	keys := map[string]string{}
	for _, m := range measures {
		if key := m.key; key == "uf_rate_per_kg" || key == "interdialytic_weight_gain" || key == "target_miss" {
			keys[page.Language.Text(m.name)] = key
		}
	}
	last := ""
	for _, row := range rows {
		if row.Scope == "session" {
			last = max(last, row.Date)
		}
	}
	found := 0
	for _, line := range page.Numbers.Rows {
		title, _, _ := strings.Cut(line[0], " (")
		key, ok := keys[title]
		if !ok {
			continue
		}
		var values []float64
		for _, row := range rows {
			if row.Key == key && row.Scope == "session" && row.Value != "" && daysApart(t, row.Date, last) < 28 {
				v, err := strconv.ParseFloat(row.Value, 64)
				if err != nil {
					t.Fatal(err)
				}
				values = append(values, v)
			}
		}
		slices.Sort(values)
		want := (values[(len(values)-1)/2] + values[len(values)/2]) / 2
		got, err := strconv.ParseFloat(plain(t, page, line[1]), 64)
		if err != nil || math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: the median of %s is %s, want %g", name, key, line[1], want)
		}
		found++
	}
	if found != len(keys) {
		t.Errorf("%s: %d of %d lines were compared", name, found, len(keys))
	}
}

func daysApart(t *testing.T, a, b string) int {
	t.Helper()
	from, ok := moment(a)
	to, too := moment(b)
	if !ok || !too {
		t.Fatalf("%q, %q", a, b)
	}
	return int(to.Sub(from).Hours() / 24)
}

func TestSameRecordGivesTheSameBytes(t *testing.T) {
	dir := year().write(t)
	a, b := made(t, dir, tool), made(t, dir, tool)
	if !bytes.Equal(a.HTML, b.HTML) || !bytes.Equal(a.PDF, b.PDF) {
		t.Error("two reports of one log differ")
	}
}

// 48 kB in base64 stay below 65,536 characters.
func TestPDFIsOneSmallPageInItsLanguage(t *testing.T) {
	for name, report := range pages(t) {
		if len(report.PDF) > 48*1024 {
			t.Errorf("%s: %d bytes", name, len(report.PDF))
		}
		if n := bytes.Count(report.PDF, []byte("/Type /Page\n")); n != 1 {
			t.Errorf("%s: %d pages", name, n)
		}
		if !bytes.Contains(report.PDF, []byte("/Lang ("+report.Page.language()+")")) {
			t.Errorf("%s: no language", name)
		}
		if y := report.Page.lay(nil, report.Page.panelHeight()); y > report.Page.Paper.HeightMM-margin+0.01 {
			t.Errorf("%s: ends at %.1f mm", name, y)
		}
	}
}

var word = regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">(.*)</word>`)

// box is a word on the page; lengths are in points.
type box struct {
	left, top, right, bottom float64
	text                     string
}

func words(t *testing.T, file []byte) (all []box) {
	t.Helper()
	for _, m := range word.FindAllStringSubmatch(system(t, file, "pdftotext", "-bbox"), -1) {
		var n [4]float64
		for i := range n {
			n[i], _ = strconv.ParseFloat(m[i+1], 64)
		}
		all = append(all, box{n[0], n[1], n[2], n[3], html.UnescapeString(m[5])})
	}
	return all
}

// No word lies outside the margins or over another, and none is smaller than
// 2.1 mm. The height of a box is that of the typeface, 1.16 of the letter size;
// its middle half is what letters cover.
func TestNothingOverlapsAndNothingIsCut(t *testing.T) {
	const points = 72 / 25.4
	for name, report := range pages(t) {
		paper, all := report.Page.Paper, words(t, report.PDF)
		for i, w := range all {
			height := w.bottom - w.top
			if w.left < (margin-0.5)*points || w.right > (paper.WidthMM-margin+0.5)*points || w.bottom > (paper.HeightMM-margin+2)*points {
				t.Errorf("%s: %q is beyond the margin, %.1f to %.1f", name, w.text, w.left, w.right)
			}
			if height < 2.1*points {
				t.Errorf("%s: %q is %.2f mm high", name, w.text, height/points)
			}
			apart(t, name, w, all[:i])
		}
	}
}

// apart reports a word that lies over one of others.
func apart(t *testing.T, name string, w box, others []box) {
	t.Helper()
	for _, v := range others {
		quarter := (w.bottom - w.top) / 4
		if w.left < v.right-0.3 && v.left < w.right-0.3 && w.top+quarter < v.bottom-quarter && v.top+quarter < w.bottom-quarter {
			t.Errorf("%s: %q lies over %q", name, w.text, v.text)
		}
	}
}

// texts of a narrow chart end within its width.
func TestNarrowChartIsNotCut(t *testing.T) {
	for name, report := range pages(t) {
		pen := &rulerPen{width: narrow.width}
		narrow.canvas(pen, report.Page.chart).draw(17)
		for _, text := range pen.beyond {
			t.Errorf("%s: %q ends beyond the chart", name, text)
		}
	}
}

// A change of prescription is named where there is no panel to draw its line
// through: a stub would touch the label.
func TestChangesWithoutPanelsHaveNoLine(t *testing.T) {
	for name, l := range map[string]*madeLog{"nothing done": nothingDone(), "child": child()} {
		l.about += prescribed("2025-11-05", 175, 62.5, 11)
		for shape, f := range map[string]form{"wide": wide(190), "narrow": narrow} {
			pen := &svgPen{}
			c := made(t, l.write(t), tool).Page.chart
			f.canvas(pen, c).draw(8)
			if !strings.Contains(pen.String(), "5 Nov: new prescription") || strings.Contains(pen.String(), `stroke-dasharray="0.5"`) != (len(c.panels) > 0) {
				t.Errorf("%s, %s: %s", name, shape, pen)
			}
		}
	}
}

// Where the signs of values off the axis leave no room for the words that say
// what they are, the words stand beside the panel of a wide chart.
func TestSignsOffTheAxisAreExplained(t *testing.T) {
	l := &madeLog{about: aboutAdult + prescribed("2024-09-01", 170, 60, 11)}
	l.sessions("2024-11-04", 260, 60)
	for i := 3; i < len(l.rows); i += 20 {
		l.rows[i]["recovery_min"] = "3000"
	}
	for _, language := range []issue.Language{issue.English, issue.German} {
		opts := tool
		opts.Weeks, opts.Language = 53, language
		c, pen := made(t, l.write(t), opts).Page.chart, &rulerPen{width: 190}
		wide(190).canvas(pen, c).draw(8)
		if len(pen.beyond) > 0 || !slices.ContainsFunc(pen.places, func(b box) bool { return b.text == c.offAxis }) {
			t.Errorf("%s: beyond the chart %q, places %v", language, pen.beyond, pen.places)
		}
	}
}

// rulerPen notes the texts of a chart, those that end beyond its width, and the
// signs of a broken axis.
type rulerPen struct {
	svgPen
	width  float64
	beyond []string
	places []box
}

func (p *rulerPen) text(x, y, at float64, s string, font pdf.Font, _ pdf.Color) {
	left := x - at*font.WidthMM(s)
	if left < -0.01 || left+font.WidthMM(s) > p.width+0.01 {
		p.beyond = append(p.beyond, s)
	}
	p.places = append(p.places, box{left, y - font.SizeMM*0.7, left + font.WidthMM(s), y, s})
}

func (p *rulerPen) line(_ pdf.Stroke, points ...pdf.Point) {
	if len(points) == 4 && points[1].Y != points[2].Y && points[0].Y == points[3].Y {
		p.places = append(p.places, box{points[0].X, points[1].Y, points[3].X, points[2].Y, "sign"})
	}
}

// Slips beside each other, above and below the axes of panels that follow each
// other: no number lies over another or over a sign, and each is written or
// counted.
func TestNumbersOffTheAxisLieApart(t *testing.T) {
	l := &madeLog{about: aboutAdult + prescribed("2025-09-01", 170, 24.1, 8)}
	l.sessions("2025-10-06", 24, 60)
	for _, i := range []int{3, 4, 5, 22, 23} {
		l.rows[i]["weight_after_kg"], l.rows[i]["bp_before_systolic_mmhg"], l.rows[i]["recovery_min"], l.rows[i]["treated_min"] = "6.21", "1390", "3000", "1700"
	}
	l.rows[9]["bp_before_diastolic_mmhg"], l.rows[10]["treated_min"] = "7", "17"
	slip := regexp.MustCompile(`^(6[.,]21|1390|3000|1700|7|17)( |$)`)
	for _, language := range []issue.Language{issue.English, issue.German} {
		opts := tool
		opts.Language = language
		page := made(t, l.write(t), opts).Page
		for name, f := range map[string]form{"wide": wide(190), "narrow": narrow} {
			pen := &rulerPen{width: f.width}
			f.canvas(pen, page.chart).draw(8)
			signs, numbers := 0, 0
			for i, a := range pen.places {
				if slip.MatchString(a.text) {
					numbers++
				}
				if a.text == "sign" {
					signs++
				}
				for _, b := range pen.places[:i] {
					if (a.text != "sign" || b.text != "sign") && a.left < b.right-0.01 && b.left < a.right-0.01 && a.top < b.bottom-0.01 && b.top < a.bottom-0.01 {
						t.Errorf("%s, %s: %q lies over %q", language, name, a.text, b.text)
					}
				}
			}
			if signs < 20 || numbers < 6 {
				t.Errorf("%s, %s: %d signs, %d numbers", language, name, signs, numbers)
			}
			if len(pen.beyond) > 0 {
				t.Errorf("%s, %s: beyond the chart: %q", language, name, pen.beyond)
			}
		}
	}
}

// Printed grey, the marks of the calendar differ in shape.
func TestMarksDifferInGrey(t *testing.T) {
	doc := pdf.New("", "en", pdf.A4)
	doc.AddPage()
	k := wide(100).canvas(paperPen{doc, 0, 0}, chart{})
	for s := done; s <= noRow; s++ {
		k.mark(s, 10+10*float64(s), 10, 1.9)
	}
	file, err := doc.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	const side = 60 // pixels of a patch of 5 mm at 300 dots an inch
	path := filepath.Join(t.TempDir(), "marks.pdf")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	image, err := exec.Command("pdftoppm", "-gray", "-r", "300", "-x", "88", "-y", "88", "-W", strconv.Itoa(118*5), "-H", strconv.Itoa(side), path).Output()
	if err != nil || len(image) < 118*5*side {
		t.Fatalf("%v, %d bytes", err, len(image))
	}
	image = image[len(image)-118*5*side:]
	dark := func(mark status, x, y int) bool { return image[y*118*5+int(mark)*118+x] < 140 }
	for a := done; a <= noRow; a++ {
		for b := done; b < a; b++ {
			differ, either := 0, 0
			for y := range side {
				for x := range side {
					if dark(a, x, y) != dark(b, x, y) {
						differ++
					}
					if dark(a, x, y) || dark(b, x, y) {
						either++
					}
				}
			}
			if either == 0 || float64(differ)/float64(either) < 0.3 {
				t.Errorf("marks %d and %d differ in %d of %d pixels", a, b, differ, either)
			}
		}
	}
}

// Contrast by WCAG 2.2: 4.5:1 for text, 3:1 for marks.
func TestContrast(t *testing.T) {
	for _, c := range []struct {
		color pdf.Color
		least float64
	}{{ink, 4.5}, {grey, 4.5}, {mark, 4.5}, {bar, 3}} {
		if ratio := 1.05 / (luminance(c.color) + 0.05); ratio < c.least {
			t.Errorf("%06x has a contrast of %.2f", uint32(c.color), ratio)
		}
	}
	for _, hex := range regexp.MustCompile(`#[0-9a-f]{6}`).FindAllString(pageStyle, -1) {
		if hex != rgb(ink) && hex != rgb(grey) && hex != rgb(bar) {
			t.Errorf("the style has %s, which is no color of the page", hex)
		}
	}
}

func luminance(c pdf.Color) float64 {
	channel := func(v pdf.Color) float64 {
		s := float64(v&255) / 255
		if s <= 0.03928 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(c>>16) + 0.7152*channel(c>>8) + 0.0722*channel(c)
}

// In a browser the page has no finding of axe-core, does not scroll sideways,
// prints on one page and asks nobody for anything.
func TestInABrowser(t *testing.T) {
	all := pages(t)
	for _, name := range []string{"month", "month-german", "year", "year-letter", "nothing-done"} {
		dir := t.TempDir()
		file, printed := filepath.Join(dir, "visit.html"), filepath.Join(dir, "printed.pdf")
		if err := os.WriteFile(file, all[name].HTML, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("node", "../../../../testdata/oracle/page.mjs", file, printed).Output()
		if err != nil {
			var failed *exec.ExitError
			if errors.As(err, &failed) {
				t.Logf("%s", failed.Stderr)
			}
			t.Fatalf("%s: %v", name, err)
		}
		var seen struct {
			Violations, Requests, Errors []string
			Sideways                     map[string]int
			Smallest                     float64
		}
		if err := json.Unmarshal(out, &seen); err != nil {
			t.Fatal(err)
		}
		for width, beyond := range seen.Sideways {
			if beyond > 0 {
				t.Errorf("%s: scrolls sideways by %d at %s pixels", name, beyond, width)
			}
		}
		if len(seen.Violations)+len(seen.Requests)+len(seen.Errors) > 0 || seen.Smallest < 10 || len(seen.Sideways) != 3 {
			t.Errorf("%s: %+v", name, seen)
		}
		data, err := os.ReadFile(printed)
		if err != nil {
			t.Fatal(err)
		}
		if pages := regexp.MustCompile(`/Type\s*/Page\b`).FindAll(data, -1); len(pages) != 1 {
			t.Errorf("%s: prints on %d pages", name, len(pages))
		}
		all := words(t, data)
		for i, w := range all {
			apart(t, name+" from a browser", w, all[:i])
		}
	}
}

// Records say what the log says, but for what they do not hold.
func TestRecordsGiveTheSameValues(t *testing.T) {
	dir := exported(t, month)
	record, err := FromRecords([]string{dir})
	if err != nil {
		t.Fatal(err)
	}
	log, err := FromLog(read(t, month))
	if err != nil {
		t.Fatal(err)
	}
	if record.patient != log.patient || record.digest != log.digest || record.rules != log.rules || len(record.treatments) != len(log.treatments) {
		t.Fatalf("%+v", record)
	}
	b, c := builder{Record: record}, builder{Record: log}
	for _, m := range measures {
		if diff := cmp.Diff(textsOf(c.series(m.key)), textsOf(b.series(m.key))); diff != "" {
			t.Errorf("%s (- log, + records):\n%s", m.key, diff)
		}
	}
	if diff := cmp.Diff(textsOf(c.weeklyDose()), textsOf(b.weeklyDose())); diff != "" {
		t.Errorf("weekly dose:\n%s", diff)
	}
	if len(record.labs) != len(log.labs) {
		t.Errorf("%d laboratory values, the log has %d", len(record.labs), len(log.labs))
	}
}

func textsOf(s series) (texts []string) {
	for _, p := range s.points {
		texts = append(texts, p.at.Format("2006-01-02 15:04 ")+p.text+" "+p.unit)
	}
	return texts
}

func (p *Page) language() string { return string(p.Language) }

// With RUNSHEET_PAGES set to a folder, the pages are written there to be
// looked at.
func TestWritePages(t *testing.T) {
	dir := os.Getenv("RUNSHEET_PAGES")
	for name, report := range pages(t) {
		if dir == "" {
			break
		}
		for ext, data := range map[string][]byte{".html": report.HTML, ".pdf": report.PDF} {
			if err := os.WriteFile(filepath.Join(dir, name+ext), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
