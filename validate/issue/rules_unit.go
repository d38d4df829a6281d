package issue

var unitRules = []Rule{
	{
		ID: "unit-dimension", Layer: LayerUnit, Severity: Error, IssueType: "code-invalid",
		What:   "the unit measures the kind of quantity its code is for",
		Why:    "a weight in litres or a flow in millilitres is read as a number of something else",
		Source: "UCUM 2.1 section 4 (dimensions); LOINC property of the code",
		Mend:   "use a unit of the expected dimension, or the code that fits the unit",
	},
	{
		ID: "unit-not-ucum", Layer: LayerUnit, Severity: Error, IssueType: "code-invalid",
		What:   "a code in the system http://unitsofmeasure.org is a UCUM code, case-sensitive form",
		Why:    "a receiver cannot convert or compare a value whose unit it cannot read",
		Source: "UCUM 2.1, grammar and table of units; FHIR R4 4.0.1 Using UCUM",
		Mend:   "write the UCUM code in code and the text for people in unit",
	},
	{
		ID: "unit-valid-but-suspicious", Layer: LayerUnit, Severity: Warning, IssueType: "code-invalid",
		What:   "a UCUM code is not one that is commonly written for another unit",
		Why:    "U is the enzyme unit and not the international unit, C the coulomb, ms/cm milliseconds: valid, and wrong without a sign of it",
		Source: "UCUM 2.1, table of units",
		Mend:   "write the code of the unit that is meant, for instance [iU], Cel or mS/cm",
	},
}
