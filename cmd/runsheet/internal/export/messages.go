package export

import (
	"io"

	"runsheet.example/cmd/runsheet/internal/output"
	"runsheet.example/fhirmap/hl7v2"
	"runsheet.example/fhirmap/session"
	"runsheet.example/validate/manifest"
)

// MessageLog is what the messages about a log have in common.
func MessageLog(log *session.Log) hl7v2.Log {
	return hl7v2.Log{ID: log.About.LogID, System: log.About.PatientSystem, Value: log.About.PatientValue}
}

// messageFiles writes each message into a file, and then all into one.
type messageFiles struct {
	w     *writer
	log   hl7v2.Log
	batch hl7v2.Batch
	text  spool
}

const (
	messageEnding = ".hl7"
	batchName     = "batch" + messageEnding
)

func (f *messageFiles) write(name string, m hl7v2.Message) (sum string, err error) {
	f.batch.Add(m)
	if err := f.text.write(m.Text); err != nil {
		return "", err
	}
	return f.w.file(name, func(to io.Writer) error {
		_, err := to.Write(m.Text)
		return err
	})
}

func (f *messageFiles) writeBatch() (sum string, err error) {
	return f.w.file(batchName, func(to io.Writer) error { return f.batch.Write(to, f.log, f.text.copyTo) })
}

// messageForm is one HL7 v2 message for each record, and a batch of all.
type messageForm struct {
	messageFiles
	listed *listing
}

func (f *messageForm) add(r ready) error {
	m, err := hl7v2.New(f.log, hl7v2.Record{Identity: r.record.ID, Resources: r.record.Resources})
	if err == nil {
		err = f.w.opts.Kept.Keep(r.record, m)
	}
	if err != nil {
		return err
	}
	name := nameFor(r.record, messageEnding)
	sum, err := f.write(name, m)
	if err != nil {
		return err
	}
	return f.listed.add(r.record.ManifestFile(name, sum))
}

func (f *messageForm) finish() (*listing, error) {
	sum, err := f.writeBatch()
	if err != nil {
		return nil, err
	}
	return f.listed, f.listed.add(manifest.File{File: batchName, SHA256: sum})
}

// MessageFile is a message with the label and identity of its record.
type MessageFile struct {
	hl7v2.Message
	Label, Identity string
}

// Amendments writes the messages of an amendment into a new folder.
func Amendments(out string, log hl7v2.Log, messages []MessageFile) error {
	folder, err := output.NewFolder(out, false, nil)
	if err != nil {
		return err
	}
	defer folder.Close()
	files := messageFiles{w: &writer{place: folder}, log: log}
	for _, m := range messages {
		if _, err := files.write(fileName(m.Label, m.Identity, messageEnding), m.Message); err != nil {
			return err
		}
	}
	if _, err := files.writeBatch(); err != nil {
		return err
	}
	_, err = folder.Commit()
	return err
}
