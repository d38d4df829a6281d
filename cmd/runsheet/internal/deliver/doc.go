// Package deliver sends a log's record to a FHIR server and keeps it true
// there: each resource once, in the form the server takes, with a receipt;
// later exactly the difference, and never a deletion.
//
// Nothing relies on one safeguard alone. A resource in the receipt is not sent
// again. A session that is not in it is looked for at the server before it is
// created, since the receipt may be lost or the last answer may not have
// arrived. And what is created carries the condition of its identifier. So a
// server that ignores conditions gets no duplicate, and neither does one that
// cannot search.
//
// In Bundles the links between entries are not the identities themselves: at
// least one server in use replaces every text that equals an entry's fullUrl,
// and with it would replace the identifier by which a resource is known.
package deliver
