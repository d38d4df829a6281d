package fhirmap

import (
	"strconv"
	"strings"

	"github.com/google/uuid"
)

// namespace is the UUIDv5 namespace of all our identities. It must never
// change, because every identity would change with it.
var namespace = uuid.MustParse("6f3dcb6a-54f5-4c0e-9d53-2f0a0bb1d7a4")

// unitSeparator cannot occur in any part of a key, so different keys give
// different texts.
const unitSeparator = "\x1f"

// namer derives identities for one patient's log.
type namer struct{ patientSystem, patientValue, logID string }

// name is the identity of the resource with a role and an ordinal in a
// session; an empty session id is for resources of the log as a whole. It
// never includes values, so that a corrected value keeps its identity.
//
// Decision 1. A correction must find the resource it corrects. The identity is
// a UUIDv5 of patient, log, session, role and ordinal, never of a value or a
// clock; a content hash would leave the wrong value beside the right one. The
// ordinal of a reading is its place in its session, so a reading inserted
// between others updates those after it, and readings added at the end change
// nothing.
func (n namer) name(sessionID, role string, ordinal int) string {
	key := strings.Join([]string{
		"v1", n.patientSystem, n.patientValue, n.logID, sessionID, role, strconv.Itoa(ordinal),
	}, unitSeparator)
	return uuid.NewSHA1(namespace, []byte(key)).String()
}

// softwareName is the identity of one version of a program, the same for
// every patient.
func softwareName(tool Tool) string {
	return uuid.NewSHA1(namespace, []byte(strings.Join([]string{"v1", "software", tool.Name, tool.Version}, unitSeparator))).String()
}

// EntryURL is the fullUrl of a resource in a Bundle, and so the target of
// references to it. It is derived from the identity and differs from it: R4
// lets a server replace every element of type uri that equals a fullUrl, and
// at least one in use replaces every text, the identifier and the condition by
// which the resource is known among them; the resource could then not be found
// again, and the next delivery would duplicate it.
//
// Decision 17. In a Bundle the fullUrl is derived from the identity and never
// equal to it (held by TestServerReplacesMoreThanReferences).
func EntryURL(identity string) string {
	return "urn:uuid:" + uuid.NewSHA1(uuid.MustParse(identity), []byte("entry")).String()
}
