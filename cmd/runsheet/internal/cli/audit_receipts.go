package cli

import (
	"context"
	"os"
	"path/filepath"

	"runsheet.example/cmd/runsheet/internal/audit"
	"runsheet.example/cmd/runsheet/internal/deliver"
	"runsheet.example/cmd/runsheet/internal/deliver/receipt"
	"runsheet.example/cmd/runsheet/internal/deliver/server"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

const (
	notSent     = "audit-not-sent"
	serverOther = "audit-server-other"
)

// sent compares exports with the receipts beside them and, with --server, with what
// stands at the server.
type sent struct {
	*sendTarget
	target server.Target // the zero value without --server
	style  deliver.Style
	io     streams
}

func newSent(at *sendTarget, io streams) (s sent, err error) {
	s = sent{sendTarget: at, io: io}
	if at.to != "" {
		s.target, s.style, err = at.check()
	}
	return s, err
}

func (s sent) compare(ctx context.Context, dir string) ([]audit.Unlike, int, error) {
	refuse := func(why issue.Text) ([]audit.Unlike, int, error) {
		return []audit.Unlike{{Rule: notSent, File: filepath.Join(dir, manifest.Name), Details: why}}, 0, nil
	}
	path := receiptBeside(dir)
	if _, err := os.Stat(path); err != nil {
		return refuse(issue.T("there is no receipt beside the export"))
	}
	to := ""
	if s.to != "" {
		to = s.target.String()
	}
	folder, err := deliver.OpenFolder(dir)
	var r *receipt.Receipt
	if err == nil {
		r, err = receipt.Open(path, to, folder.LogID)
	}
	if err != nil {
		return refuse(issue.T("the export cannot be compared with the receipt: {}", issue.Literal(err.Error())))
	}
	gaps, compared := folder.Gaps(r)
	var out []audit.Unlike
	for _, g := range gaps {
		file := filepath.Join(dir, g.File)
		if len(g.Missing) > 0 {
			out = append(out, audit.Unlike{Rule: notSent, File: file, Details: issue.T("resources of the file are not in the receipt"), Which: g.Missing})
		}
		if len(g.Other) > 0 {
			out = append(out, audit.Unlike{Rule: serverOther, File: file, Details: issue.T("by the receipt, these were sent with other content, or withdrawn, or are not in the export"), Which: g.Other})
		}
	}
	if s.to == "" {
		return out, compared, nil
	}
	sender, _, err := s.sender(ctx, s.target, s.style, r, s.io)
	if err != nil {
		return nil, 0, err
	}
	drifted, err := sender.Verify(ctx, &deliver.Folder{Path: dir, LogID: folder.LogID}, nil)
	if len(drifted) > 0 {
		one := audit.Unlike{Rule: serverOther, File: path, Details: issue.T("these do not stand at the server in the version that the receipt names")}
		for _, d := range drifted {
			one.Which = append(one.Which, d.Reference()+": "+string(d.Drift))
		}
		out = append(out, one)
	}
	return out, compared, err
}
