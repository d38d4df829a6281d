package session_test

import (
	"fmt"
	"testing"
	"testing/fstest"

	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/issue"
)

func readLab(t *testing.T, row string) (*session.Lab, []issue.Finding) {
	t.Helper()
	const about = "[log]\nformat = 1\nid = \"0b2f3f8e-6f0e-4d5e-9a43-3f1f6f1f0a11\"\ntime_zone = \"Europe/London\"\ndate_style = \"iso\"\ndecimal_mark = \".\"\n" +
		"[patient]\nidentifier_system = \"urn:oid:2.25.1\"\nidentifier_value = \"1\"\nsex = \"female\"\nbirth_date = 1960-01-01\nheight_cm = 160\n"
	log, findings, err := session.ReadFS(fstest.MapFS{
		"log.toml":     {Data: []byte(about)},
		"sessions.csv": {Data: []byte("session,date,start,end,status\nA,2025-11-03,18:00,22:00,done\n")},
		"labs.csv":     {Data: []byte("session,drawn_time,when,test,value,unit\nA," + row + "\n")},
	}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(log.Sessions) != 1 || len(log.Sessions[0].Labs) != 1 {
		t.Fatalf("%s: not read", row)
	}
	if log.Sessions[0].Broken {
		t.Errorf("%s holds the session back: %v", row, findings)
	}
	return log.Sessions[0].Labs[0], findings
}

func TestAnyLaboratoryTestIsCarried(t *testing.T) {
	for _, tt := range []struct{ test, value, unit, want, number, ucum, words string }{
		{"β2-microglobulin", "24.1", "mg/L", "beta2-microglobulin", "24.1", "mg/L", ""},
		{"Albumin", "38", "g/l", "albumin", "38", "g/L", ""},
		{"PTH", "310", "pg/ml", "pth", "310", "pg/mL", ""},
		{"CRP", "<5", "mg/L", "crp", "5", "mg/L", ""},
		{"hepatitis B surface antibody", "52", "mIU/mL", "hepatitis B surface antibody", "", "", "52 mIU/mL"},
		{"HBsAg", "negative", "", "HBsAg", "", "", "negative"},
		{"zinc", "11", "umol/L", "zinc", "11", "umol/L", ""},
		{"ferritin", "see report", "", "ferritin", "", "", "see report"},
		{"albumin", "see report", "", "albumin", "", "", "see report"},
		{"ferritin", "not done", "", "ferritin", "", "", ""},
	} {
		lab, findings := readLab(t, fmt.Sprintf("17:55,other,%s,%s,%s", tt.test, tt.value, tt.unit))
		if len(findings) > 0 {
			t.Errorf("%s: %v", tt.test, findings)
		}
		if lab.Test.Text != tt.want || lab.Value.Decimal.String() != tt.number && tt.number != "" || lab.Value.OK() != (tt.number != "") ||
			lab.Value.Unit != tt.ucum || lab.Words.Text != tt.words {
			t.Errorf("%+v: read as %+v", tt, lab)
		}
	}
}

func TestMisspeltTestIsAskedBack(t *testing.T) {
	_, findings := readLab(t, "17:55,before,potasium,5.1,mmol/L")
	if len(findings) != 1 || findings[0].Rule != "log-test-name" || findings[0].Expected.String() != "perhaps potassium" {
		t.Errorf("%v", findings)
	}
}

// Names of reports in the languages of the trade, and abbreviations.
func TestNamesOfReports(t *testing.T) {
	for name, want := range map[string]session.Field{
		"iPTH": "pth", "PTH intakt": "pth", "i-PTH": "pth", "Parathormon": "pth", "Beta-2-Mikroglobulin": "beta2-microglobulin", "β2-Mikroglobulin": "beta2-microglobulin",
		"β₂-microglobulin": "beta2-microglobulin", "Kalium": "potassium", "K+": "potassium", "Serum potassium": "potassium", "Harnstoff": "urea", "urée": "urea",
		"Harnstoff-N": "bun", "blood urea nitrogen": "bun", "Hämoglobin": "haemoglobin", "Hb": "haemoglobin", "phosphorus": "phosphate", "HCO3-": "bicarbonate",
		"Ca": "calcium", "C-reaktives Protein": "crp", "Ferritin": "ferritin",
	} {
		if got, ok := session.TestField(name); !ok || got != want {
			t.Errorf("%s: %q, wanted %q", name, got, want)
		}
	}
}

// Right names of tests that the log has no field for are carried as written
// and not taken for a misspelling.
func TestOtherTestsAreNoMisspelling(t *testing.T) {
	for _, name := range []string{
		"25-OH-Vitamin D", "ALT", "AST", "alkaline phosphatase", "Alkalische Phosphatase", "aluminium", "Anti-HBs", "aPTT", "azotemia", "bilirubin", "BNP", "bone alkaline phosphatase",
		"Calcitonin", "Calcitriol", "ionised calcium", "ionisiertes Calcium", "chloride", "Chlorid", "cholesterol", "Cholesterin", "CK", "creatine kinase", "cystatin C", "D-dimer",
		"eosinophils", "Eisen", "ESR", "fibrinogen", "folate", "Folsäure", "GFR", "GGT", "glucose", "Glukose", "Haematocrit", "Hämatokrit", "Haptoglobin", "HbA1c", "HBsAg", "HCV", "HDL", "hs-CRP",
		"IGF-1", "INR", "iron", "lactate", "LDH", "LDL", "leucocytes", "Leukozyten", "lipase", "Manganese", "Mangan", "Myoglobin", "NT-proBNP", "osmolality", "PCR", "platelets", "Prealbumin",
		"Präalbumin", "Procalcitonin", "protein", "PT", "PTT", "Gesamteiweiß", "Quick", "reticulocytes", "selenium", "Selen", "Transferrin", "Transferrinsättigung", "transferrin saturation", "triglycerides",
		"Triglyceride", "troponin T", "TSAT", "TSH", "uric acid", "Harnsäure", "vitamin B12", "white cells", "zinc", "Zink", "creatine", "globulin", "homocysteine", "total protein", "Thrombozyten",
		"bicarbonaturia", "ferritine index", "urate", "urine", "carnitine", "cortisol", "digoxin", "vancomycin", "tacrolimus", "copper", "Kupfer", "mercury", "lead",
	} {
		lab, findings := readLab(t, "17:55,before,"+name+",5.1,mmol/L")
		if len(findings) > 0 || lab.Test.Text != name {
			t.Errorf("%s: read as %q, %v", name, lab.Test.Text, findings)
		}
	}
}

func TestUnknownDrawnTimeHoldsNothingBack(t *testing.T) {
	for _, drawn := range []string{"", "?", "-", "n/a", "not done"} {
		for _, when := range []string{"before", "after", "other"} {
			lab, findings := readLab(t, drawn+","+when+",urea,21.0,mmol/L")
			if lab.Drawn.OK() || len(findings) > 0 {
				t.Errorf("%q %s: %v", drawn, when, findings)
			}
		}
	}
}
