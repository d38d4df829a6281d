package deliver

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"

	"runsheet.example/fhirmap"
)

// The kinds of reference a record holds: to another resource of the session, to
// one of another session by its identifier, and to the patient by a search. The
// patterns match only JSON syntax: inside a JSON string every quotation mark
// has a backslash before it.
var (
	toRecord  = regexp.MustCompile(`"reference":"urn:uuid:` + identityPattern + `"`)
	toSession = regexp.MustCompile(`"value":"urn:uuid:` + identityPattern + `"`)
	toPatient = regexp.MustCompile(`"reference":"Patient[?/][^"]*"`)
)

const identityPattern = `([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12})`

// Digest is the SHA-256 of a resource's content as mapped. It omits the
// reference to the patient, which depends on the receiver, not on the log, and
// the origin of a report.
func Digest(resource []byte, patientIdentity string) string {
	resource = withoutOrigin(resource)
	text := toPatient.ReplaceAll(resource, []byte(`"reference":"Patient"`))
	if patientIdentity != "" {
		text = bytes.ReplaceAll(text, []byte(`"reference":"urn:uuid:`+patientIdentity+`"`), []byte(`"reference":"Patient"`))
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// withoutOrigin returns a report with the text of its page in place of the
// files, without the lines that name the log and the program: every other log
// or program would change every report. Other resources are returned as they
// are.
func withoutOrigin(resource []byte) []byte {
	if !bytes.HasPrefix(resource, []byte(`{"resourceType":"`+reportType+`"`)) { // as we write them
		return resource
	}
	list, err := members(resource)
	var forms []struct {
		ContentType string `json:"contentType"`
		Data        []byte `json:"data"`
	}
	if err != nil || json.Unmarshal(get(list, "presentedForm"), &forms) != nil {
		return resource
	}
	for _, f := range forms {
		if f.ContentType == "text/html" {
			before, origin, _ := bytes.Cut(f.Data, []byte("<footer>"))
			_, after, _ := bytes.Cut(origin, []byte("</footer>"))
			list = set(list, "presentedForm", quoted(string(before)+string(after)))
		}
	}
	return object(list)
}

// references lists the identities a resource refers to.
func references(resource []byte) []string {
	var out []string
	for _, m := range toRecord.FindAllSubmatch(resource, -1) {
		out = append(out, string(m[1]))
	}
	return out
}

// resolve rewrites references between our resources using target.
func resolve(resource []byte, target func(identity string) (string, bool)) ([]byte, error) {
	var missing string
	out := toRecord.ReplaceAllFunc(resource, func(match []byte) []byte {
		identity := string(toRecord.FindSubmatch(match)[1])
		reference, ok := target(identity)
		if !ok {
			missing = identity
			return match
		}
		return []byte(`"reference":"` + reference + `"`)
	})
	if missing != "" {
		return nil, fmt.Errorf("the export refers to %s, which is not in it", missing)
	}
	return out, nil
}

// withPatient replaces the patient search by the patient's literal reference.
func withPatient(resource []byte, patient string) []byte {
	if patient == "" {
		return resource
	}
	return toPatient.ReplaceAll(resource, []byte(`"reference":"`+patient+`"`))
}

// link is the fullUrl of an identity inside a Bundle.
func link(identity string) string { return fhirmap.EntryURL(identity) }

// byIdentity replaces the references to entries of a session's Bundle by
// references to identities. It refuses a reference that leaves the session.
func byIdentity(resources []fhirmap.Resource) error {
	identities := make(map[string]string, len(resources))
	for _, r := range resources {
		identities[link(r.Identity)] = r.Identity
	}
	for i := range resources {
		out, err := resolve(resources[i].JSON, func(entry string) (string, bool) {
			identity, ok := identities["urn:uuid:"+entry]
			return "urn:uuid:" + identity, ok
		})
		if err != nil {
			return err
		}
		resources[i].JSON = out
	}
	return nil
}

// member is one member of a JSON object, its value as written.
type member struct {
	Name  string
	Value json.RawMessage
}

// members reads the top level of a JSON object and keeps order and text.
func members(object []byte) ([]member, error) {
	decoder := json.NewDecoder(bytes.NewReader(object))
	if token, err := decoder.Token(); err != nil || token != json.Delim('{') {
		return nil, errors.New("expected a JSON object")
	}
	var out []member
	for decoder.More() {
		name, err := decoder.Token()
		if err != nil {
			return nil, err
		}
		var value json.RawMessage
		if err := decoder.Decode(&value); err != nil {
			return nil, err
		}
		text, _ := name.(string)
		out = append(out, member{text, value})
	}
	_, err := decoder.Token()
	return out, err
}

// object formats members as an object.
func object(list []member) []byte {
	var out bytes.Buffer
	for i, m := range list {
		out.WriteByte("{,"[min(i, 1)])
		name, _ := json.Marshal(m.Name)
		out.Write(name)
		out.WriteByte(':')
		out.Write(m.Value)
	}
	out.WriteByte('}')
	return out.Bytes()
}

// set replaces a member, or inserts a new one after resourceType.
func set(list []member, name string, value json.RawMessage) []member {
	for i := range list {
		if list[i].Name == name {
			list[i].Value = value
			return list
		}
	}
	return append(list[:1:1], append([]member{{name, value}}, list[1:]...)...)
}

func get(list []member, name string) json.RawMessage {
	for _, m := range list {
		if m.Name == name {
			return m.Value
		}
	}
	return nil
}

// withID gives a resource its id.
func withID(resource []byte, id string) ([]byte, error) {
	list, err := members(resource)
	if err != nil {
		return nil, err
	}
	return object(set(list, "id", quoted(id))), nil
}

func quoted(s string) json.RawMessage {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	_ = encoder.Encode(s) // a string always encodes
	return bytes.TrimSuffix(out.Bytes(), []byte("\n"))
}
