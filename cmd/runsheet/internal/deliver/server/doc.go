// Package server is the HTTP client of one FHIR R4 server. It reads the
// server's capabilities, sends requests one at a time, authenticates, and
// retries where that is safe.
//
// Standards: FHIR R4 4.0.1 RESTful API; RFC 9110 (Retry-After, If-Match); HL7
// SMART App Launch 2.0, Backend Services (RFC 7523 client assertions).
//
// Its messages and errors contain no token, no key, no query of a URL and, of
// the server's reply, only the codes: a reply may repeat values of the record.
//
// Decision 18. A create whose answer was lost is never simply repeated: the
// program asks the server what arrived, and sends the rest again. It repeats
// PUT, GET and searches, and any request after 429 or 503, which mean that
// nothing was done.
//
// Decision 20. The program repeats only the codes and paths of a server's
// OperationOutcome, because its texts may contain values. The patient's
// identifier goes to the server in a body, never in a URL or a header.
package server
