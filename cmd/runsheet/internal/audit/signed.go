package audit

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"golang.org/x/crypto/ssh"

	"runsheet.example/cmd/runsheet/internal/seal"
	"runsheet.example/validate/issue"
	"runsheet.example/validate/manifest"
)

// signatures are what is known of who signed.
type signatures struct {
	signers seal.Signers
	given   bool // signers are
	now     time.Time
	sealed  map[string]sealed // by the SHA-256 of a manifest
	by      map[string]int    // manifests by who signed
	// Counts of manifests.
	vouched, unvouched, unsigned, bad int
}

// sealed is a manifest of a list, that is signed by somebody.
type sealed struct {
	list, path string
	by         ssh.PublicKey
	found      bool
}

// readSeals reads the signers and the signed lists. A list is read only if its
// signature is right.
func (a *audit) readSeals() (err error) {
	s := &a.signed
	s.sealed, s.by, s.now, s.given = map[string]sealed{}, map[string]int{}, a.opts.Now, a.opts.Signers != ""
	if s.given {
		if s.signers, err = seal.ReadSigners(a.opts.Signers); err != nil {
			return err
		}
	}
	for _, path := range a.opts.Seals {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		signature, err := os.ReadFile(path + seal.Ending)
		if err != nil {
			return err
		}
		key, err := seal.Verify(bytes.NewReader(text), signature)
		if err != nil {
			a.add(place("audit-signature-wrong", path+seal.Ending, issue.T("the signature cannot be accepted"), err.Error()))
			continue
		}
		list, err := seal.Read(text)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		for _, one := range list.Exports {
			s.sealed[one.SHA256] = sealed{list: path, path: one.Manifest, by: key}
		}
	}
	return nil
}

// signer looks who signed the manifest of an export, before it is read for
// anything else.
func signer(e *export) (Export, error) {
	out := Export{Dir: e.dir}
	if !e.listed {
		return out, nil
	}
	var err error
	if out.Manifest, err = manifest.SumOf(os.Open(e.manifest())); err != nil || !slices.ContainsFunc(e.files, isSignature) {
		return out, err
	}
	key, err := verifyFile(e.manifest(), e.manifest()+seal.Ending)
	if err != nil {
		out.Wrong = err.Error()
	} else {
		out.Signer = strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key)))
	}
	return out, nil
}

// verify says who vouches for the manifest of an export: by a signature beside
// it, or by a list that has its digest.
func (a *audit) verify(e *Export) {
	if e.Manifest == "" {
		return
	}
	s, path := &a.signed, filepath.Join(e.Dir, manifest.Name)
	listed, inList := s.sealed[e.Manifest]
	if inList {
		listed.found = true
		s.sealed[e.Manifest] = listed
	}
	key, _, _, _, err := ssh.ParseAuthorizedKey([]byte(e.Signer))
	switch {
	case err == nil:
		a.vouch(path, key)
	case e.Wrong != "" || e.Signer != "":
		s.bad++
		a.add(place("audit-signature-wrong", path+seal.Ending, issue.T("the signature cannot be accepted"), e.Wrong))
	case inList:
		a.vouch(path, listed.by)
	default:
		if s.unsigned++; s.given {
			a.add(place("audit-signature-absent", path, issue.T("nobody signed the manifest"), ""))
		}
	}
}

// vouch counts a signed manifest by who signed it.
func (a *audit) vouch(path string, key ssh.PublicKey) {
	s := &a.signed
	name := "key " + ssh.FingerprintSHA256(key)
	who, err := s.signers.Who(key, s.now)
	if err == nil {
		s.vouched++
		s.by[who+" ("+name+")"]++
		return
	}
	s.unvouched++
	s.by[name]++
	if s.given {
		a.add(place("audit-signer-unknown", path, issue.T("nobody vouches for the key that signed the manifest"), name+": "+err.Error()))
	}
}

// unsealed reports manifests of a signed list that are not there.
func (a *audit) unsealed() {
	for _, digest := range sortedKeys(a.signed.sealed) {
		if one := a.signed.sealed[digest]; !one.found {
			a.add(place("audit-sealed-absent", one.list, issue.T("a manifest of the signed list is not there, or was changed"), one.path))
		}
	}
}

// answer is what keeps the question from being answered, and who signed.
func (s *signatures) answer() (unknown []string, counts string) {
	if s.vouched+s.unvouched+s.bad == 0 {
		return []string{"no signature was found, so nobody vouches for the files: who changes a file can change its digest too"}, "0 signatures"
	}
	if s.unsigned > 0 {
		unknown = append(unknown, issue.Plural(s.unsigned, "manifest has", "manifests have")+" no signature")
	}
	if s.unvouched > 0 {
		why := "without a file of signers (--signers) nobody vouches for the keys"
		if s.given {
			why = issue.Plural(s.unvouched, "manifest is", "manifests are") + " signed by a key for which nobody vouches"
		}
		unknown = append(unknown, why)
	}
	for _, by := range sortedKeys(s.by) {
		counts += fmt.Sprintf("%s%d signed by %s", separator(counts), s.by[by], by)
	}
	return unknown, counts + separator(counts) + fmt.Sprintf("%d with a wrong signature, %d not signed; a signature does not say when it was made", s.bad, s.unsigned)
}

func verifyFile(path, beside string) (ssh.PublicKey, error) {
	const most = 1 << 16
	signature, err := head(beside, most)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return seal.Verify(f, signature)
}

// isSignature reports whether a file beside a manifest is its signature.
func isSignature(name string) bool { return name == manifest.Name+seal.Ending }
