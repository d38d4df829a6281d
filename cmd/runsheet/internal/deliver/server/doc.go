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
package server
