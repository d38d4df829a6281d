// Package server speaks to one FHIR R4 server over HTTP: it reads what the
// server says it can do, sends requests one at a time, proves who we are, and
// tries again where that is safe.
//
// Standards: FHIR R4 4.0.1 RESTful API; RFC 9110 (Retry-After, If-Match);
// HL7 SMART App Launch 2.0, Backend Services (RFC 7523 client assertions).
//
// What it writes for people, errors included, holds no token, no key, no
// query of a URL and no text of the server's reply but its codes: a reply may
// repeat the values it is about.
//
// Decision 18. A create whose answer was lost is never simply repeated: the
// server is asked what arrived, and the rest is sent again. PUT, GET and
// searches are repeated; 429 and 503 say that nothing was done.
//
// Decision 20. A server's words are not repeated, only the codes and paths
// of its OperationOutcome, since they may hold values. The patient's
// identifier goes to the server in a body, never in a URL or a header.
package server
