package issue

var acceptRules = []Rule{
	{ID: "accept-expired", Layer: LayerAccept, Severity: Warning, IssueType: "business-rule",
		What:   "an entry of the list of accepted findings has not expired",
		Why:    "somebody took responsibility for the finding until a day that has passed",
		Source: "common practice",
		Mend:   "mend what the entry accepted, or have it decided anew with a later day"},
	{ID: "accept-unused", Layer: LayerAccept, Severity: Warning, IssueType: "not-found",
		What:   "an entry of the list of accepted findings matches a finding",
		Why:    "an entry left over from a fault that is mended would hide the next one",
		Source: "common practice",
		Mend:   "remove the entry, or correct its rule, record or path"},
}
