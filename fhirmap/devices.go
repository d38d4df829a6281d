package fhirmap

import (
	"runsheet.example/fhirmap/r4"
	"runsheet.example/fhirmap/session"
	"runsheet.example/profiles"
	"runsheet.example/validate/issue"
)

// Kinds of device in a log, with their type for people. The only verified
// SNOMED CT code, for the machine, is not in the free set.
var deviceTypes = map[string]string{
	"machine": "Haemodialysis machine",
	"scales":  "Body weight scales",
	"cuff":    "Blood pressure monitor",
}

// RoleSoftware is the role of the program, which every patient's record shares.
const RoleSoftware = "device:software"

// usedDevices adds the devices of the log that this session may use and the
// software that assembled the record. They have the same identity in every
// session, so that a receiver creates each once.
func (m *mapper) usedDevices() error {
	if m.s.Status != session.SkippedStatus {
		for i, d := range m.log.About.Devices {
			if err := m.device(i, d); err != nil {
				return err
			}
		}
	}
	return m.software()
}

func (m *mapper) device(ordinal int, d session.Device) error {
	role := "device:" + d.Kind
	id := m.names.name("", role, ordinal)
	typeText := deviceTypes[d.Kind]
	subject := m.subject()
	resource := &r4.Device{
		Id:         m.resourceID(id),
		Text:       narrative(typeText),
		Identifier: identifier(id),
		Type:       ptr(concept(typeText)),
		Patient:    &subject,
	}
	if d.Name.OK() {
		resource.DeviceName = []deviceName{{Name: d.Name.Text, Type: userFriendlyName}}
	}
	if d.Serial.OK() && m.opts.Serials {
		resource.SerialNumber = ptr(d.Serial.Text)
	}
	if _, first := m.devices[d.Kind]; !first {
		m.devices[d.Kind] = id
	}
	return m.add("Device", id, role, resource, deviceCells(d)...)
}

func deviceCells(d session.Device) []issue.Cell {
	var cells []issue.Cell
	for _, text := range []session.Text{d.Name, d.Serial} {
		if text.OK() {
			cells = append(cells, text.Cell)
		}
	}
	return cells
}

func (m *mapper) software() error {
	id := softwareName(m.opts.Tool)
	resource := &r4.Device{
		Id:         m.resourceID(id),
		Text:       narrative("Software " + m.opts.Tool.Name + ", version " + m.opts.Tool.Version),
		Identifier: identifier(id),
		DeviceName: []deviceName{{Name: m.opts.Tool.Name, Type: userFriendlyName}},
		Type:       ptr(concept("Software that read the log, computed and assembled the record")),
		Version:    []deviceVersion{{Value: m.opts.Tool.Version}},
	}
	return m.add("Device", id, RoleSoftware, resource)
}

// deviceReference refers to the device of a kind, nil if the log has none.
func (m *mapper) deviceReference(kind string) *r4.Reference {
	id, ok := m.devices[kind]
	if !ok {
		return nil
	}
	ref := m.reference("Device", id)
	return &ref
}

// measuringDevice returns the kind of device that displayed a value.
func measuringDevice(row profiles.Measurement) string {
	switch {
	case row.Field == "weight_before" || row.Field == "weight_after":
		return "scales"
	case row.Field == "pulse" || row.Field == "pulse_before" || row.Field == "pulse_after":
		return "cuff"
	case row.Category == profiles.ProcedureC && len(row.Units) > 0 && !handMeasured[row.Field]:
		return "machine"
	default:
		return ""
	}
}

// handMeasured are the fields of category procedure that no machine displays.
var handMeasured = map[string]bool{"drinks": true, "saline": true, "rinseback": true, "urine": true, "dry_weight": true}
