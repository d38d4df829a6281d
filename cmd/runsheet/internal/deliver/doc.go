// Package deliver sends a log's record to a FHIR server and keeps it up to
// date: each resource once, in a style that the server supports, with a
// receipt. Later it sends exactly the differences. It never deletes.
//
// No single safeguard prevents duplicates. A resource in the receipt is not
// sent again. The sender searches for a session that is not in the receipt
// before it creates it, since the receipt or the last answer may be lost.
// Every create has its identifier as condition. So neither a server that
// ignores conditions nor one that cannot search gets a duplicate.
//
// In Bundles the fullUrls are not the identities: at least one server in use
// replaces every text that equals an entry's fullUrl, and would also replace
// the identifier of a resource.
package deliver
