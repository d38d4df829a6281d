package issue

const (
	sourceSchema = "JSON Schema published with FHIR R4"
	whySchema    = "a receiver that checks with the published schema refuses the resource"
)

// schemaRules are those of the second engine. It and the rules of structure
// say the same of most mistakes; where they differ, one of them is wrong.
var schemaRules = []Rule{
	{ID: "schema-code", Layer: LayerStructure, Severity: Error, IssueType: "code-invalid",
		What: "a code is one of the list the published schema gives",
		Why:  whySchema, Source: sourceSchema + " (enum, const)",
		Mend: "use one of the codes of the list"},
	{ID: "schema-more", Layer: LayerStructure, Severity: Information, IssueType: "informational",
		What: "the published schema refuses more places than are listed",
		Why:  "a document that is wrong everywhere is told about only so often", Source: "common practice",
		Mend: "mend what is listed and check again"},
	{ID: "schema-pattern", Layer: LayerStructure, Severity: Error, IssueType: "value",
		What: "a value has the form the published schema gives for its type",
		Why:  whySchema, Source: sourceSchema + " (pattern)",
		Mend: "write the value in the format of its type"},
	{ID: "schema-required", Layer: LayerStructure, Severity: Error, IssueType: "required",
		What: "the members the published schema requires are there",
		Why:  whySchema, Source: sourceSchema + " (required)",
		Mend: "add the missing member"},
	{ID: "schema-resource-type", Layer: LayerStructure, Severity: Error, IssueType: "structure",
		What: "resourceType names a type the published schema has",
		Why:  "nothing can be said about a resource of no known type", Source: sourceSchema + " (ResourceList)",
		Mend: "give resourceType the name of an R4 resource"},
	{ID: "schema-type", Layer: LayerStructure, Severity: Error, IssueType: "structure",
		What: "a value is of the JSON type the published schema gives",
		Why:  whySchema, Source: sourceSchema + " (type)",
		Mend: "write an object, array, string, number, true or false as the element asks for"},
	{ID: "schema-unknown", Layer: LayerStructure, Severity: Error, IssueType: "structure",
		What: "an object has only members the published schema knows",
		Why:  whySchema, Source: sourceSchema + " (additionalProperties)",
		Mend: "correct the name, or take the member out"},
}
