// Package unit makes what a unit of forty invented people receives in a month:
// an inbox of logs in every form that a unit may get, a roster, ten corrected
// versions, and three of each kind of mess. The same call gives the same people
// and numbers; nobody in it exists.
package unit

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/google/uuid"
)

// System is the numbering that the logs give.
const System = "urn:oid:2.25.331383638406541845489215601853980652438"

// HospitalSystem is the hospital's own numbering, which no log gives.
const HospitalSystem = "https://hospital.example/numbers"

// Person is one invented person with the habits of their log.
type Person struct {
	// Number is the person's number in [System].
	Number string
	// Reference is the patient's reference at the server where the roster gives
	// it, and Hospital the number by which alone the server knows the patient.
	Reference, Hospital string
	// Item is what the person sent, as a path in the inbox; Corrected is the
	// corrected version of it, empty if there is none.
	Item, Corrected string
	// Sessions and LeftOut count those of Item that can be taken over, and those
	// with mistakes.
	Sessions, LeftOut int

	index          int
	form           string // how it is sent: see pack
	perWeek, weeks int
	dry, height    int // 100 g, cm
	minutes, start int // of a treatment; minutes after midnight
	every          int // minutes between readings; 0 without
	bloodFlow      int
	pounds, comma  bool
	child          bool
	zone, birth    string
	logID          string
	mistake        int // kind of mistake in the first version
}

// people are how many there are, weekdays the days of a week with as many
// treatments as the index says.
const people = 40

var weekdays = [8][]int{3: {0, 2, 4}, 4: {0, 1, 3, 5}, 5: {0, 1, 3, 4, 6}, 6: {0, 1, 2, 3, 4, 5}, 7: {0, 1, 2, 3, 4, 5, 6}}

var zones = []string{"Europe/London", "Europe/Berlin", "America/Chicago", "Australia/Sydney", "Europe/Lisbon"}

// forms are how people send, in the order of the people; the last one stands for
// all others.
var forms = []string{
	"german", "american", "wide", "rows", "unit",
	"workbook", "workbook", "workbook", "workbook", "workbook",
	"zip", "zip", "zip", "zip",
	"age", "age", "age",
	"export", "export zip", "export age",
	"response", "response", "response",
	"workbook age", "folder",
}

func newPerson(i int) Person {
	random := rand.New(rand.NewPCG(uint64(i), 1))
	p := Person{
		Number: fmt.Sprintf("HHD-%d", 20101+i*7), index: i, form: forms[min(i, len(forms)-1)],
		perWeek: 3 + i%5, weeks: 4, dry: 480 + random.IntN(500), height: 150 + random.IntN(40),
		minutes: 150 + 15*(i%5), start: 60*(7+i%12) + random.IntN(50), every: []int{0, 75, 50}[i%3],
		bloodFlow: 300 + 10*random.IntN(8), pounds: i%5 == 2, comma: i%4 == 1 && i > 4,
		zone: zones[i%len(zones)], birth: fmt.Sprintf("%d-%02d-%02d", 1940+random.IntN(55), 1+random.IntN(12), 1+random.IntN(28)),
	}
	if p.perWeek == 7 {
		p.weeks = 3
	}
	if i%4 == 3 { // at night
		p.start, p.minutes, p.every, p.bloodFlow = 21*60+30+random.IntN(60), 420, p.every*2, 220
	}
	if i == 2 || i == 3 { // sheets with readings at each hour
		p.every = 60
	}
	if i == 30 {
		p.child, p.dry, p.height, p.birth, p.bloodFlow = true, 212, 118, "2017-05-09", 100
	}
	if i > 34 && i < 38 {
		p.mistake = i - 34
	}
	if p.form == "folder" && i%7 == 5 {
		p.Reference = fmt.Sprintf("Patient/unit-%d", i)
	} else if i%6 == 1 {
		p.Hospital = fmt.Sprint(770000 + i)
	}
	p.logID = logID(p.Number)
	return p
}

func logID(of string) string { return uuid.NewSHA1(uuid.NameSpaceURL, []byte(of)).String() }

// night is one treatment. Times are minutes after the midnight before it.
type night struct {
	day            time.Time
	start, minutes int
	status, reason string
	before, after  int // 100 g
	ufML           int
	bp             [2][2]int // before, after
	pulse          [2]int
	temperature    int // 0.1 °C
	readings       []reading
	notes          string
}

type reading struct{ at, systolic, diastolic, pulse, arterial, venous, ufML int }

var remarks = []string{"", "", "", "cramp in the left calf, \"gone\" after 5 min", "Müde, etwas Kopfweh; früher Schluss", "two cups of tea", "ran late: bus | train"}

// nights are the person's treatments. The second version is the corrected one.
func (p Person) nights(version int) (out []night) {
	random := rand.New(rand.NewPCG(uint64(p.index), 2))
	for week := range p.weeks {
		for _, day := range weekdays[p.perWeek] {
			out = append(out, p.night(random, time.Date(2025, 11, 3+7*week+day, 0, 0, 0, 0, time.UTC)))
		}
	}
	if p.index%6 == 0 && p.index > 0 { // the sheet of the first has no word for it
		out[5] = night{day: out[5].day, status: "not done", reason: "machine fault, engineer called"}
	}
	if version == 1 {
		if p.index%10 == 4 { // writes the last one down later
			out = out[:len(out)-1]
		}
		return out
	}
	switch p.index % 5 {
	case 0:
		out[2].before++
	case 1:
		out[1].bp[0][0] += 6
		out[3].notes = "entered again: the cuff was on the wrong arm"
	case 2:
		out = slices.Delete(out, len(out)-2, len(out)-1)
	case 3:
		out[4].after--
		out[4].status, out[4].reason = "cut short", "felt unwell"
	}
	return out
}

func (p Person) night(random *rand.Rand, day time.Time) night {
	between := func(low, high int) int { return low + random.IntN(high-low+1) }
	n := night{day: day, start: p.start + between(-12, 12), minutes: p.minutes + between(-6, 6), status: "done"}
	// The gain between treatments, in thousandths of the dry weight.
	n.before = p.dry + p.dry*between(12, 26)/1000
	n.after = p.dry + between(-2, 2)
	n.ufML = (n.before-n.after)*100 + 10*between(20, 35)
	n.bp = [2][2]int{{between(125, 152), between(70, 88)}, {between(112, 134), between(64, 78)}}
	if p.child {
		n.ufML = (n.before-n.after)*100 + 10*between(4, 8)
		n.bp = [2][2]int{{between(98, 108), between(58, 66)}, {between(92, 102), between(54, 62)}}
	}
	n.pulse, n.temperature = [2]int{between(62, 80), between(66, 84)}, between(361, 370)
	n.notes = remarks[between(0, len(remarks)-1)]
	for at := p.every; p.every > 0 && at < n.minutes; at += p.every {
		n.readings = append(n.readings, reading{
			n.start + at, n.bp[0][0] - between(0, 12), n.bp[0][1] - between(0, 6), between(64, 84),
			-between(120, 170), between(110, 170), n.ufML * at / n.minutes / 10 * 10,
		})
	}
	return n
}
