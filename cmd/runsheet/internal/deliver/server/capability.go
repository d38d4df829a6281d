package server

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
)

// Capability is the part of a server's CapabilityStatement that decides how
// to send.
type Capability struct {
	FHIRVersion        string
	Transaction, Batch bool
	Types              map[string]TypeCapability
}

// TypeCapability is the part of the CapabilityStatement for one resource type.
type TypeCapability struct {
	Create, Update, Search              bool
	ConditionalCreate, UpdateCreate     bool
	SearchesIdentifier, SearchesTargets bool
}

// ReadCapability reads the server's CapabilityStatement (FHIR R4, 3.1.0.9). It
// refuses a server of another FHIR release.
func (c *Client) ReadCapability(ctx context.Context) (Capability, error) {
	reply, err := c.Do(ctx, Request{Method: http.MethodGet, Path: "metadata"})
	if err != nil {
		return Capability{}, fmt.Errorf("the server does not say what it can do (metadata): %w", err)
	}
	return parseCapability(reply.Body)
}

func parseCapability(body []byte) (Capability, error) {
	var statement struct {
		ResourceType string `json:"resourceType"`
		FHIRVersion  string `json:"fhirVersion"`
		Rest         []struct {
			Mode        string `json:"mode"`
			Interaction []code `json:"interaction"`
			Resource    []struct {
				Type              string `json:"type"`
				Interaction       []code `json:"interaction"`
				ConditionalCreate bool   `json:"conditionalCreate"`
				UpdateCreate      bool   `json:"updateCreate"`
				SearchParam       []struct {
					Name string `json:"name"`
				} `json:"searchParam"`
			} `json:"resource"`
		} `json:"rest"`
	}
	if json.Unmarshal(body, &statement) != nil || statement.ResourceType != "CapabilityStatement" {
		return Capability{}, fmt.Errorf("the server's metadata is no CapabilityStatement: look at the base URL")
	}
	out := Capability{FHIRVersion: statement.FHIRVersion, Types: map[string]TypeCapability{}}
	if !strings.HasPrefix(out.FHIRVersion, "4.0") {
		return Capability{}, fmt.Errorf("the server speaks FHIR %s, and the record is FHIR R4 (4.0.1): look for the server's R4 address", pathOnly(out.FHIRVersion))
	}
	for _, rest := range statement.Rest {
		if rest.Mode != "server" {
			continue
		}
		out.Transaction = out.Transaction || has(rest.Interaction, "transaction")
		out.Batch = out.Batch || has(rest.Interaction, "batch")
		for _, r := range rest.Resource {
			t := TypeCapability{
				Create: has(r.Interaction, "create"), Update: has(r.Interaction, "update"), Search: has(r.Interaction, "search-type"),
				ConditionalCreate: r.ConditionalCreate, UpdateCreate: r.UpdateCreate,
			}
			for _, p := range r.SearchParam {
				t.SearchesIdentifier = t.SearchesIdentifier || p.Name == "identifier"
				t.SearchesTargets = t.SearchesTargets || p.Name == "target"
			}
			out.Types[r.Type] = t
		}
	}
	return out, nil
}

type code struct {
	Code string `json:"code"`
}

func has(list []code, wanted string) bool {
	for _, c := range list {
		if c.Code == wanted {
			return true
		}
	}
	return false
}

// All reports whether every one of the types has a property.
func (c Capability) All(types []string, property func(TypeCapability) bool) bool {
	for _, t := range types {
		if !property(c.Types[t]) {
			return false
		}
	}
	return true
}
