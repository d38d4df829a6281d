package deliver

import "runsheet.example/cmd/runsheet/internal/deliver/receipt"

// Gap is how one file of an export differs from what its receipt says was sent.
type Gap struct {
	File string
	// Missing are the resources that the receipt does not name, as Type/identity.
	Missing []string
	// Other are those that it names with other content, or as withdrawn; and
	// those of the session that the export does not have.
	Other []string
}

// Gaps compares an export with its receipt, without a server. It returns the
// files that differ and the number of resources compared. What was left out by a
// clinic's standing order is no gap. A file that is not as its manifest says is
// not compared.
func (f *Folder) Gaps(r *receipt.Receipt) (gaps []Gap, compared int) {
	bySession := map[string][]receipt.Entry{}
	for _, e := range r.All() {
		bySession[e.Session] = append(bySession[e.Session], e)
	}
	seen := map[string]bool{}
	for i, file := range f.Files {
		session, err := f.Session(i)
		if err != nil {
			continue
		}
		p, n := planSession(r, session, bySession[session.Identity], seen)
		compared += n
		gap := Gap{File: file.File}
		for _, resource := range p.New {
			if !r.Ordered {
				gap.Missing = append(gap.Missing, resource.Type+"/"+resource.Identity)
				compared++
			}
		}
		for _, c := range p.Correct {
			gap.Other = append(gap.Other, c.Resource.Type+"/"+c.Resource.Identity)
		}
		for _, e := range p.Withdraw {
			gap.Other = append(gap.Other, e.Type+"/"+e.Identity)
		}
		if len(gap.Missing)+len(gap.Other) > 0 {
			gaps = append(gaps, gap)
		}
	}
	return gaps, compared
}
