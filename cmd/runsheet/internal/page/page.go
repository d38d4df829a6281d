// Package page is what HTML files of tables have in common: how they look, and
// that they may load nothing.
package page

import (
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
)

// Style is the style of a page of tables.
//
//go:embed page.css
var Style template.CSS

// Policy is the Content-Security-Policy of a page whose only style is given: it
// forbids scripts, and requests to anywhere.
func Policy(style template.CSS) string {
	sum := sha256.Sum256([]byte(style))
	return fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'", base64.StdEncoding.EncodeToString(sum[:]))
}
