package doc

// Which names are choice elements is a fact of FHIR R4 4.0.1 (StructureDefinitions
// of all types, CC0).

// openTypes are the types of value[x], defaultValue[x], fixed[x] and pattern[x].
var openTypes = []string{
	"Address", "Age", "Annotation", "Attachment", "Base64Binary", "Boolean",
	"Canonical", "Code", "CodeableConcept", "Coding", "ContactDetail", "ContactPoint",
	"Contributor", "Count", "DataRequirement", "Date", "DateTime", "Decimal",
	"Distance", "Dosage", "Duration", "Expression", "HumanName", "Id",
	"Identifier", "Instant", "Integer", "Markdown", "Meta", "Money",
	"Oid", "ParameterDefinition", "Period", "PositiveInt", "Quantity", "Range",
	"Ratio", "Reference", "RelatedArtifact", "SampledData", "Signature", "String",
	"Time", "Timing", "TriggerDefinition", "UnsignedInt", "Uri", "Url",
	"UsageContext", "Uuid",
}

// choices lists, for each choice element, the endings its name takes.
var choices = map[string][]string{
	"abatement":            {"Age", "DateTime", "Period", "Range", "String"},
	"additive":             {"CodeableConcept", "Reference"},
	"age":                  {"Age", "CodeableConcept", "Range", "String"},
	"allowed":              {"Boolean", "CodeableConcept", "Money", "String", "UnsignedInt"},
	"amount":               {"Quantity", "Range", "Ratio", "String"},
	"answer":               {"Boolean", "Coding", "Date", "DateTime", "Decimal", "Integer", "Quantity", "Reference", "String", "Time"},
	"asNeeded":             {"Boolean", "CodeableConcept"},
	"author":               {"Reference", "String"},
	"born":                 {"Date", "Period", "String"},
	"bounds":               {"Duration", "Period", "Range"},
	"characteristic":       {"CodeableConcept", "Quantity"},
	"chargeItem":           {"CodeableConcept", "Reference"},
	"code":                 {"CodeableConcept", "Reference"},
	"collected":            {"DateTime", "Period"},
	"content":              {"Attachment", "Reference", "String"},
	"created":              {"DateTime", "Period"},
	"date":                 {"DateTime", "Period"},
	"deceased":             {"Age", "Boolean", "Date", "DateTime", "Range", "String"},
	"defaultValue":         openTypes,
	"definingSubstance":    {"CodeableConcept", "Reference"},
	"definition":           {"Canonical", "CodeableConcept", "DataRequirement", "Expression", "Reference", "TriggerDefinition", "Uri"},
	"detail":               {"Boolean", "CodeableConcept", "Integer", "Quantity", "Range", "Ratio", "String"},
	"diagnosis":            {"CodeableConcept", "Reference"},
	"dose":                 {"Quantity", "Range"},
	"doseNumber":           {"PositiveInt", "String"},
	"due":                  {"Date", "Duration"},
	"duration":             {"Quantity", "Range"},
	"effective":            {"DateTime", "Instant", "Period", "Timing"},
	"entity":               {"CodeableConcept", "Reference"},
	"event":                {"CodeableConcept", "Coding", "DateTime", "Id", "Reference", "Uri"},
	"example":              {"Boolean", "Canonical"},
	"fastingStatus":        {"CodeableConcept", "Duration"},
	"fixed":                openTypes,
	"identified":           {"DateTime", "Period"},
	"indication":           {"CodeableConcept", "Reference"},
	"instances":            {"Quantity", "Range"},
	"item":                 {"CodeableConcept", "Reference"},
	"legallyBinding":       {"Attachment", "Reference"},
	"location":             {"Address", "CodeableConcept", "Reference"},
	"manufacturer":         {"Reference", "String"},
	"maxValue":             {"Date", "DateTime", "Decimal", "Instant", "Integer", "PositiveInt", "Quantity", "Time", "UnsignedInt"},
	"medication":           {"CodeableConcept", "Reference"},
	"minValue":             {"Date", "DateTime", "Decimal", "Instant", "Integer", "PositiveInt", "Quantity", "Time", "UnsignedInt"},
	"minimumVolume":        {"Quantity", "String"},
	"module":               {"Canonical", "CodeableConcept", "Uri"},
	"multipleBirth":        {"Boolean", "Integer"},
	"name":                 {"Reference", "Url"},
	"occurred":             {"DateTime", "Period"},
	"occurrence":           {"DateTime", "Period", "String", "Timing"},
	"offset":               {"Duration", "Range"},
	"onset":                {"Age", "DateTime", "Period", "Range", "String"},
	"participantEffective": {"DateTime", "Duration", "Period", "Timing"},
	"pattern":              openTypes,
	"performed":            {"Age", "DateTime", "Period", "Range", "String"},
	"probability":          {"Decimal", "Range"},
	"procedure":            {"CodeableConcept", "Reference"},
	"product":              {"CodeableConcept", "Reference"},
	"quantity":             {"Quantity", "Range", "Ratio"},
	"rate":                 {"Quantity", "Range", "Ratio"},
	"reported":             {"Boolean", "Reference"},
	"scheduled":            {"Period", "String", "Timing"},
	"seriesDoses":          {"PositiveInt", "String"},
	"serviced":             {"Date", "Period"},
	"source":               {"Attachment", "Canonical", "Reference", "Uri"},
	"start":                {"CodeableConcept", "Date"},
	"statusReason":         {"CodeableConcept", "Reference"},
	"studyEffective":       {"DateTime", "Duration", "Period", "Timing"},
	"subject":              {"CodeableConcept", "Reference"},
	"substance":            {"CodeableConcept", "Reference"},
	"target":               {"Canonical", "Identifier", "Reference", "Uri"},
	"time":                 {"DateTime", "Period"},
	"timing":               {"Age", "Date", "DateTime", "Duration", "Period", "Range", "Reference", "Timing"},
	"topic":                {"CodeableConcept", "Reference"},
	"used":                 {"Money", "String", "UnsignedInt"},
	"value":                openTypes,
	"when":                 {"Period", "Range"},
}

// plainNames are the places where a name that looks like a choice is none.
var plainNames = map[string][]string{
	"contentReference": {
		"StructureDefinition.differential.element.contentReference",
		"StructureDefinition.snapshot.element.contentReference",
	},
	"definitionCanonical": {
		"ChargeItem.definitionCanonical",
	},
	"definitionUri": {
		"ChargeItem.definitionUri",
	},
	"doseQuantity": {
		"Immunization.doseQuantity",
	},
	"effectivePeriod": {
		"ActivityDefinition.effectivePeriod",
		"ChargeItemDefinition.effectivePeriod",
		"EffectEvidenceSynthesis.effectivePeriod",
		"EventDefinition.effectivePeriod",
		"Evidence.effectivePeriod",
		"EvidenceVariable.effectivePeriod",
		"Library.effectivePeriod",
		"Measure.effectivePeriod",
		"PlanDefinition.effectivePeriod",
		"Questionnaire.effectivePeriod",
		"ResearchDefinition.effectivePeriod",
		"ResearchElementDefinition.effectivePeriod",
		"RiskEvidenceSynthesis.effectivePeriod",
	},
	"itemCodeableConcept": {
		"ClinicalImpression.finding.itemCodeableConcept",
	},
	"itemReference": {
		"ClinicalImpression.finding.itemReference",
	},
	"locationReference": {
		"ServiceRequest.locationReference",
	},
	"occurrenceDateTime": {
		"GuidanceResponse.occurrenceDateTime",
	},
	"procedureReference": {
		"ImagingStudy.procedureReference",
	},
	"valueCode": {
		"Device.property.valueCode",
		"DeviceDefinition.property.valueCode",
	},
	"valueQuantity": {
		"Device.property.valueQuantity",
		"DeviceDefinition.property.valueQuantity",
	},
}

// primitiveEndings are the endings whose type begins with a small letter.
var primitiveEndings = []string{
	"Base64Binary", "Boolean", "Canonical", "Code", "Date", "DateTime",
	"Decimal", "Id", "Instant", "Integer", "Markdown", "Oid",
	"PositiveInt", "String", "Time", "UnsignedInt", "Uri", "Url",
	"Uuid", "Xhtml",
}

// keywords are the names FHIRPath N1 takes for something else than an
// identifier.
var keywords = []string{
	"and", "day", "days", "div", "false", "hour",
	"hours", "implies", "millisecond", "milliseconds", "minute", "minutes",
	"mod", "month", "months", "or", "second", "seconds",
	"true", "week", "weeks", "xor", "year", "years",
}
