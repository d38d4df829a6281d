package cli

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"strings"

	"filippo.io/age"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/fhirmap"
)

// singleFile is a month as one Bundle in one file.
func singleFile(month *fhirmap.Month, flags exportFlags) (fhirmap.File, error) {
	encode := month.Collection
	if flags.as == asDocument {
		encode = month.Document
	}
	data, err := encode()
	return fhirmap.File{Name: flags.as + ".json", Data: finish(data, flags.pretty)}, err
}

// recipients reads the public keys a file is encrypted to: each value is an
// age key, or the name of a file of such keys. A private key given by mistake
// is refused, and not repeated.
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

// sealed is the export as one file that only the holders of the keys can open
// (the age format, age-encryption.org/v1): the one Bundle, or a zip of the
// folder.
func sealed(files []output.File, single bool, to []age.Recipient) ([]byte, error) {
	plain := files[0].Data
	if !single {
		var err error
		if plain, err = zipped(files); err != nil {
			return nil, err
		}
	}
	var out bytes.Buffer
	writer, err := age.Encrypt(&out, to...)
	if err != nil {
		return nil, fmt.Errorf("the file could not be encrypted: %w", err)
	}
	if _, err := writer.Write(plain); err != nil {
		return nil, err
	}
	if err := writer.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// zipped puts files into a zip without times, so that the same files give the
// same bytes.
func zipped(files []output.File) ([]byte, error) {
	var out bytes.Buffer
	archive := zip.NewWriter(&out)
	for _, f := range files {
		w, err := archive.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Deflate})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(f.Data); err != nil {
			return nil, err
		}
	}
	if err := archive.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// settleForm picks the form of the export from --as and the name of the
// output, and refuses what does not go together.
func (f *exportFlags) settleForm() error {
	name, isSealed := strings.CutSuffix(strings.ToLower(f.out), ".age")
	switch {
	case len(f.encryptTo) == 0 && isSealed:
		return wrongUse("-o %s asks for an encrypted file: give the clinic's public key with --encrypt-to", f.out)
	case len(f.encryptTo) > 0 && !isSealed && f.out != "-":
		return wrongUse("--encrypt-to writes one encrypted file: -o NAME.zip.age or NAME.json.age")
	}
	oneBundle := f.out == "-" || strings.HasSuffix(name, ".json")
	switch f.as {
	case "":
		f.as = asSessions
		if oneBundle {
			f.as = asCollection
		}
	case asSessions, asNDJSON:
		if oneBundle && f.out != "-" || f.out == "-" && len(f.encryptTo) == 0 {
			return wrongUse("--as %s writes a folder, but -o %s is one file", f.as, f.out)
		}
	case asCollection, asDocument:
		if !oneBundle {
			return wrongUse("--as %s writes one file: -o NAME.json", f.as)
		}
	default:
		return wrongUse("--as %q: expected sessions, collection, document or ndjson", f.as)
	}
	return nil
}

// oneBundle reports whether the form is one Bundle in one file.
func (f *exportFlags) oneBundle() bool { return f.as == asCollection || f.as == asDocument }
