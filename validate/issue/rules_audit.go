package issue

import "strings"

// auditRules judge the records of a unit against its roster, its period and
// their manifests.
var auditRules = []Rule{
	{"audit-patient-absent", LayerAudit, Error, "not-found",
		"there are records of each patient on the roster",
		"nothing of the patient's treatment is there, and no check of files can notice it", common,
		"find the patient's export, or correct the roster's days"},
	{"audit-patient-unknown", LayerAudit, Error, "not-found",
		"each record is of a patient on the roster, on days on which the roster has the patient",
		"a record that nobody expects may be of another person", common,
		"correct the roster, or find out whose record it is"},
	{"audit-not-sent", LayerAudit, Error, "incomplete",
		"each resource of an export is in the receipt beside it",
		"what was not sent is not in the record system", common,
		"send the export, or find its receipt"},
	{"audit-server-other", LayerAudit, Error, "conflict",
		"what was sent stands at the server, with this content and in the version that the receipt names",
		"the record system says something else than the export, and nobody can say why", common,
		"run runsheet send --verify on the export, which shows each difference"},
	{"audit-month-absent", LayerAudit, Error, "incomplete",
		"each month in the patient's days has a session, done or not done",
		"a month of the record is missing", common,
		"find the month's export, or write the leave and its reason into the roster"},
	{"audit-week-unexplained", LayerAudit, Error, "incomplete",
		"each planned session of a week is done, or not done with a reason, or held back",
		"a session that is neither there nor explained is a gap in the record", common,
		"ask for the missing session, or write the leave and its reason into the roster"},
	{"audit-plan-differs", LayerAudit, Warning, "business-rule",
		"the roster plans as many sessions a week as the prescription in the records",
		"where it plans fewer, a session that is missing is not noticed", common,
		"ask which of the two is in force, and correct the roster or the log"},
	{"audit-log-second", LayerAudit, Error, "duplicate",
		"a patient has sessions of one day in one log only",
		"the same treatment may stand in both and be counted twice", common,
		"find out which of the two logs counts"},
	{"audit-session-absent", LayerAudit, Error, "not-found",
		"each session that the weeks of an export count as done is in it",
		"a session was taken away after the weeks were computed", common,
		"find the session, or export the log again"},
	{"audit-row-twice", LayerAudit, Error, "duplicate",
		"each session was made from a row of the log of its own",
		"one treatment stands there twice, or a session was invented", common,
		"compare both with the log, and export it again"},
	{"audit-manifest-absent", LayerAudit, Error, "not-found",
		"there is a manifest beside the records",
		"without it nobody can see that a file is missing, was added or was changed", "the manifest's own format",
		"find the manifest that was written with the files, or export again"},
	{"audit-resource-missing", LayerAudit, Error, "not-found",
		"each resource that the manifest lists for a file is in it",
		"a part of the session is missing", "the manifest's own format",
		"export again, or find out who changed the file or the manifest"},
	{"audit-resource-extra", LayerAudit, Error, "unknown",
		"each resource of a file is listed in the manifest",
		"nobody can say which cells of the log the resource was made from", "the manifest's own format",
		"export again, or find out who changed the file or the manifest"},
	{"audit-file-extra", LayerAudit, Error, "unknown",
		"each file beside a manifest is named in it",
		"the file is not of this export", "the manifest's own format; complete as RFC 8493, section 3, has it",
		"move the file elsewhere"},
	{"audit-link", LayerAudit, Error, "security",
		"there are files, not links to files",
		"what a link leads to can change without a trace here; it was not followed", common,
		"put the file itself in place of the link"},
	{"audit-session-twice", LayerAudit, Error, "duplicate",
		"a session is in one export only",
		"two exports of one session can say different things", common,
		"keep the export that was sent, and move the other elsewhere"},
	{"audit-patients-mixed", LayerAudit, Error, "business-rule",
		"an export has sessions of one patient",
		"a session of another patient was put into it", common,
		"find out whose session it is"},
	{"audit-versions", LayerAudit, Warning, "informational",
		"all exports were made by one version of the program and of its rules",
		"what was checked differs between them", common,
		"nothing, if the program was updated in the period; say so in the report"},
	{"audit-signature-absent", LayerAudit, Error, "not-found",
		"each manifest is signed, by itself or in a signed list",
		"who changes a file and its digest leaves no trace", common,
		"ask for the signature, made with runsheet sign or ssh-keygen -Y sign"},
	{"audit-signature-wrong", LayerAudit, Error, "security",
		"a signature is of the file beside it, made for manifests of this program, by a key that is strong enough",
		"the file was changed after it was signed, or the signature was made for something else", "OpenSSH PROTOCOL.sshsig",
		"ask the signer to sign again, and find out what changed"},
	{"audit-signer-unknown", LayerAudit, Error, "security",
		"the key that signed is one of the allowed signers, on this day",
		"anybody can make a key", "ssh-keygen(1), allowed signers",
		"ask whose key it is, by another way, and add it only then"},
	{"audit-sealed-absent", LayerAudit, Error, "not-found",
		"each manifest of a signed list is there as it was",
		"an export was taken away or changed after the list was signed", common,
		"find the export that the list names"},
	{"audit-method-unknown", LayerAudit, Error, "not-supported",
		"the method of each computed value is known, in its version",
		"a value whose method is not known cannot be compared, and counts as neither equal nor other", common,
		"audit with the version of the program that wrote the value"},
	{"audit-unread", LayerAudit, Error, "not-supported",
		"an export has FHIR JSON",
		"messages and other forms are not read here, so only their digests were checked", common,
		"audit the export in FHIR"},
}

// Question is one of those that an audit answers.
type Question string

// The questions.
const (
	Complete   Question = "complete"   // is every planned session there, or explained
	Whole      Question = "whole"      // are the files those that were exported
	Signed     Question = "signed"     // did somebody vouch for them
	Recomputed Question = "recomputed" // does each computed value follow from its inputs
	Valid      Question = "valid"      // does each record keep the rules by itself
)

var auditQuestions = map[string]Question{
	"audit-patient-absent": Complete, "audit-patient-unknown": Complete, "audit-month-absent": Complete,
	"audit-week-unexplained": Complete, "audit-session-absent": Complete, "audit-plan-differs": Complete, "audit-not-sent": Complete, "audit-server-other": Complete, "audit-method-unknown": Recomputed,
	"audit-signature-absent": Signed, "audit-signature-wrong": Signed, "audit-signer-unknown": Signed, "audit-log-second": Complete, "month-manifest-left-out": Complete,
	"month-record-repeat": Whole, "month-record-conflict": Whole,
	"month-manifest-extra": "", "month-record-gap": "", "month-record-fewer": "",
}

// QuestionOf returns the question that the findings of a rule answer, "" for
// rules whose subject an audit judges itself.
func QuestionOf(id string) Question {
	rule, _ := Lookup(id)
	switch asked, ok := auditQuestions[id]; {
	case ok:
		return asked
	case rule.Layer == LayerAudit, strings.HasPrefix(id, "month-manifest-"):
		return Whole
	case rule.Layer == LayerMonth:
		return Complete
	case rule.Layer == LayerComputed:
		return Recomputed
	}
	return Valid
}
