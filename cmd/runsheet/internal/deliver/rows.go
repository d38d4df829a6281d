package deliver

// Row says what sending one session takes.
type Row struct {
	Label, File string
	// Pending and Sent are resources, by the receipt.
	Pending, Sent int
	// Requests is how many requests the pending ones take, beside looking
	// whether they are there.
	Requests int
}

// Rows says what sending an export would take; nothing is sent.
func (s *Sender) Rows(folder *Folder) ([]Row, error) {
	var rows []Row
	assumed := map[string]bool{}
	known := func(identity string) bool { return assumed[identity] || s.known(identity) }
	for i := range folder.Files {
		session, err := folder.Session(i)
		if err != nil {
			return nil, err
		}
		var pending []Resource
		for _, r := range session.Resources {
			if !known(r.Identity) {
				pending = append(pending, r)
			}
		}
		requests, err := s.rules.requests(pending, known)
		if err != nil {
			return nil, err
		}
		for _, r := range pending {
			assumed[r.Identity] = true
		}
		rows = append(rows, Row{session.Label, session.File, len(pending), len(session.Resources) - len(pending), requests})
	}
	return rows, nil
}
