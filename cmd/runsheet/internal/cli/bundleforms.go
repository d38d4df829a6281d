package cli

import (
	"os"
	"strings"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/export"
)

// recipients reads the public keys to encrypt a file to: each value is an age
// key, or the name of a file of such keys. It refuses a private key and does
// not print it.
func recipients(values []string) ([]age.Recipient, error) {
	var out []age.Recipient
	for _, value := range values {
		text := value
		switch {
		case strings.HasPrefix(strings.ToUpper(value), "AGE-SECRET-KEY-"):
			return nil, wrongUse("--encrypt-to holds a private key: give the public one, which begins with age1, and take the private one for known")
		case !strings.HasPrefix(value, "age1"):
			content, err := os.ReadFile(value)
			if err != nil {
				return nil, err
			}
			text = string(content)
		}
		parsed, err := age.ParseRecipients(strings.NewReader(text))
		if err != nil {
			return nil, wrongUse("--encrypt-to: expected a public key that begins with age1, or a file of such keys")
		}
		out = append(out, parsed...)
	}
	return out, nil
}

// settleForm selects the form of the export from --as and the name of the
// output, and refuses contradictions.
func (f *exportFlags) settleForm() error {
	name, isSealed := strings.CutSuffix(strings.ToLower(f.out), ".age")
	switch {
	case len(f.encryptTo) == 0 && isSealed:
		return wrongUse("-o %s asks for an encrypted file: give the clinic's public key with --encrypt-to", f.out)
	case len(f.encryptTo) > 0 && !isSealed && f.out != "-":
		return wrongUse("--encrypt-to writes one encrypted file: -o NAME.zip.age or NAME.json.age")
	}
	oneBundle := f.out == "-" || strings.HasSuffix(name, ".json")
	switch f.form = export.Form(f.as); f.form {
	case "":
		f.form = export.Sessions
		if oneBundle {
			f.form = export.Collection
		}
	case export.Sessions, export.NDJSON, export.HL7v2:
		if oneBundle && f.out != "-" || f.out == "-" && (len(f.encryptTo) == 0 || f.form == export.HL7v2) {
			return wrongUse("--as %s writes a folder, but -o %s is one file", f.as, f.out)
		}
	case export.Collection, export.Document:
		if !oneBundle {
			return wrongUse("--as %s writes one file: -o NAME.json", f.as)
		}
	default:
		return wrongUse("--as %q: expected sessions, collection, document, ndjson or hl7v2", f.as)
	}
	return nil
}
