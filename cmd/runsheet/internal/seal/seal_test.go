package seal

import (
	"crypto"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"encoding/pem"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// A signature by ssh-keygen -Y sign (OpenSSH 9.2) of "a list\n", and its key.
const (
	message = "a list\n"
	byTool  = `-----BEGIN SSH SIGNATURE-----
U1NIU0lHAAAAAQAAADMAAAALc3NoLWVkMjU1MTkAAAAgEFV8VruQ+gaACe/vlmFPQ2npe4
10l7X5SxleHzseZtEAAAAZbWFuaWZlc3RAcnVuc2hlZXQuZXhhbXBsZQAAAAAAAAAGc2hh
NTEyAAAAUwAAAAtzc2gtZWQyNTUxOQAAAEBH+Xa2VkP+n/gsfMz0HwfHtCdKxgUCk01cUs
HZK1JqynNl8ZXZmzGzNyeO3uWRSJfpNS3nH6Pd5grq7ZHFGfQI
-----END SSH SIGNATURE-----
`
	toolKey = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIBBVfFa7kPoGgAnv75ZhT0Np6XuNdJe1+UsZXh87HmbR unit"
)

func private(t *testing.T, key crypto.PrivateKey) []byte {
	t.Helper()
	block, err := ssh.MarshalPrivateKey(key, "")
	must(t, err)
	return pem.EncodeToMemory(block)
}

func edKey(t *testing.T) []byte {
	t.Helper()
	_, key, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	return private(t, key)
}

func rsaKey(t *testing.T, bits int) []byte {
	t.Helper()
	key, err := rsa.GenerateKey(rand.Reader, bits)
	must(t, err)
	return private(t, key)
}

// What was signed is verified, here or by the tool of OpenSSH, and nothing else.
func TestVerify(t *testing.T) {
	key, err := Verify(strings.NewReader(message), []byte(byTool))
	must(t, err)
	if got := strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key))); !strings.HasPrefix(toolKey, got) {
		t.Errorf("the key is %s, want %s", got, toolKey)
	}
	for name, secret := range map[string][]byte{"ed25519": edKey(t), "rsa": rsaKey(t, 3072)} {
		signature, err := Sign(strings.NewReader(message), secret)
		must(t, err)
		if _, err := Verify(strings.NewReader(message), signature); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := Verify(strings.NewReader(message+" "), signature); err == nil {
			t.Errorf("%s: another file was accepted", name)
		}
	}
}

func TestRefuses(t *testing.T) {
	signed := func(secret []byte, namespace string) []byte {
		signer, err := ssh.ParsePrivateKey(secret)
		must(t, err)
		signature, err := sshsig.Sign(strings.NewReader(message), signer, sshsig.HashSHA512, namespace)
		must(t, err)
		return sshsig.Armor(signature)
	}
	weak := rsaKey(t, 2048)
	for want, signature := range map[string][]byte{
		`made for "file"`:          signed(edKey(t), "file"),
		"RSA key of less than":     signed(weak, Namespace),
		"not an SSH signature":     []byte("-----BEGIN SSH SIGNATURE-----\n"),
		"it is not of this file: ": []byte(byTool),
	} {
		text := message
		if strings.HasPrefix(want, "it is") {
			text += "x"
		}
		if _, err := Verify(strings.NewReader(text), signature); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	_, key, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	block, err := ssh.MarshalPrivateKeyWithPassphrase(key, "", []byte("x"))
	must(t, err)
	for want, secret := range map[string][]byte{"has a passphrase": pem.EncodeToMemory(block), "expected a private key": []byte(toolKey), "RSA key of less than": weak} {
		if _, err := Sign(strings.NewReader(message), secret); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// A key may sign if a line of the signers names it, for our namespace and on the
// day.
func TestSigners(t *testing.T) {
	key, err := Verify(strings.NewReader(message), []byte(byTool))
	must(t, err)
	now := time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC)
	other := strings.TrimSpace(string(ssh.MarshalAuthorizedKey(must1(ssh.ParsePrivateKey(edKey(t))).PublicKey())))
	for line, want := range map[string]string{
		"": "nobody vouches", "# unit " + toolKey: "nobody vouches", "unit " + other: "nobody vouches",
		"unit " + toolKey: "", `"unit, and ward" ` + toolKey: "", "unit " + toolKey + "\nold " + other: "",
		`unit namespaces="file" ` + toolKey: "may not sign", `unit namespaces="file,manifest@*" ` + toolKey: "", `unit namespaces="*,!manifest@*" ` + toolKey: "may not sign",
		`unit valid-after="20260116Z" ` + toolKey: "not valid before 2026-01-16", `unit valid-before="20260115Z" ` + toolKey: "not valid since 2026-01-15",
		`unit valid-after="20260115Z",valid-before="202601151201Z" ` + toolKey: "", `unit valid-before="20260115120000Z" ` + toolKey: "not valid since",
		"unit valid-before=\"20260101Z\" " + toolKey + "\nunit " + toolKey: "",
		"unit": "line 1: expected names", "unit ssh-ed25519 AAAA": "line 1: expected a public key", "\nunit cert-authority " + toolKey: `line 2: the option "cert-authority"`,
		`unit valid-after="15.1.2026" ` + toolKey: "expected a time",
	} {
		path := filepath.Join(t.TempDir(), "signers")
		must(t, os.WriteFile(path, []byte(line+"\n"), 0o600))
		signers, err := ReadSigners(path)
		who := ""
		if err == nil {
			who, err = signers.Who(key, now)
		}
		switch {
		case want == "" && (err != nil || !strings.HasPrefix(who, "unit")):
			t.Errorf("%q: %q, %v", line, who, err)
		case want != "" && (err == nil || !strings.Contains(err.Error(), want)):
			t.Errorf("%q: %v, want %s", line, err, want)
		}
	}
}

// FuzzSigners holds that whatever can be read names no key for another one.
func FuzzSigners(f *testing.F) {
	f.Add("unit namespaces=\"a,b\",valid-after=\"20260101\" " + toolKey)
	f.Fuzz(func(t *testing.T, line string) {
		s, err := readSigner(line)
		if err == nil && len(s.key) == 0 {
			t.Errorf("%q has no key", line)
		}
	})
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func must1[T any](value T, err error) T {
	if err != nil {
		panic(err)
	}
	return value
}
