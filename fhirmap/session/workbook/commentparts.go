package workbook

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// The library finds the comments of a sheet by the number in the name of its
// drawing: drawings/vmlDrawing2.vml goes with comments2.xml, and a sheet
// without either gets the number after the count of all comments. Other
// programs name the parts as they like (ECMA-376 part 2 leaves the names to
// them), and then new comments would land in a part that no sheet knows.

// commentParts gives the parts with comments, and their drawings, the names
// that the library expects.
type commentParts struct {
	file *excelize.File
	// moved are the new names of parts by their old ones.
	moved   map[string]string
	content map[string][]byte
	number  int // of the last sheet with comments
	other   int // of the last drawing without
	// clash is set when two parts would get one name, or one would no longer
	// find what it refers to.
	clash bool
}

type relationList struct {
	XMLName xml.Name
	List    []relation `xml:"Relationship"`
}

type relation struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
	Mode   string `xml:"TargetMode,attr,omitempty"`
}

// settleComments renames what must be renamed before anything is added.
func settleComments(file *excelize.File) error {
	// Drawings without comments go behind every number that a sheet can get.
	p := commentParts{file: file, moved: map[string]string{}, content: map[string][]byte{}, other: maxParts}
	var names []string
	file.Pkg.Range(func(name, _ any) bool {
		if dir := path.Dir(name.(string)); path.Base(dir) == "_rels" && path.Dir(path.Dir(dir)) == "xl" && path.Dir(dir) != "xl/drawings" {
			names = append(names, name.(string))
		}
		return true
	})
	slices.Sort(names)
	for _, name := range names {
		if err := p.sheet(name); err != nil {
			return err
		}
	}
	return p.store()
}

// part is the content of a part of the workbook.
func (p *commentParts) part(name string) ([]byte, bool) {
	content, _ := p.file.Pkg.Load(name)
	data, ok := content.([]byte)
	return data, ok
}

// sheet renames the comments and drawings of one sheet.
func (p *commentParts) sheet(name string) error {
	data, _ := p.part(name)
	var list relationList
	if err := xml.Unmarshal(data, &list); err != nil {
		return errDamaged
	}
	dir := path.Dir(path.Dir(name))
	drawing := legacyDrawing(p, path.Join(dir, strings.TrimSuffix(path.Base(name), ".rels")))
	hasComments := slices.ContainsFunc(list.List, func(r relation) bool { return path.Base(r.Type) == "comments" })
	if hasComments {
		p.number++
	}
	changed := false
	for i, r := range list.List {
		to := p.nameFor(path.Base(r.Type), hasComments && r.ID == drawing)
		if to == "" {
			continue
		}
		from, ok := p.find(resolved(dir, r.Target))
		if !ok {
			return errCommentParts
		}
		list.List[i].Target = "../" + strings.TrimPrefix(p.move(from, to), "xl/")
		changed = changed || list.List[i].Target != r.Target
	}
	if !changed {
		return nil
	}
	list.XMLName = xml.Name{Space: "http://schemas.openxmlformats.org/package/2006/relationships", Local: "Relationships"}
	p.file.Relationships.Delete(name)
	return p.write(name, list)
}

// nameFor is the name for a part of the current sheet by its kind, "" for one
// that keeps its own; ofComments marks the drawing that goes with comments.
func (p *commentParts) nameFor(kind string, ofComments bool) string {
	switch {
	case kind == "comments":
		return fmt.Sprintf("xl/comments%d.xml", p.number)
	case kind == "vmlDrawing" && ofComments:
		return fmt.Sprintf("xl/drawings/vmlDrawing%d.vml", p.number)
	case kind == "vmlDrawing":
		p.other++
		return fmt.Sprintf("xl/drawings/vmlDrawing%d.vml", p.other)
	default:
		return ""
	}
}

// write replaces a part of the workbook.
func (p *commentParts) write(name string, content any) error {
	text, err := xml.Marshal(content)
	if err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	p.file.Pkg.Store(name, append([]byte(xml.Header), text...))
	return nil
}

// resolved is the name of a part that a target leads to.
func resolved(dir, target string) string {
	if strings.HasPrefix(target, "/") {
		return strings.TrimPrefix(path.Clean(target), "/")
	}
	return path.Join(dir, target)
}

// find is the name of a part as it is written, or was before it moved; case does
// not count (ECMA-376 part 2, 6.2.2).
func (p *commentParts) find(name string) (string, bool) {
	if _, ok := p.part(name); ok {
		return name, true
	}
	for from := range p.moved {
		if strings.EqualFold(from, name) {
			return from, true
		}
	}
	found := ""
	p.file.Pkg.Range(func(other, _ any) bool {
		if strings.EqualFold(other.(string), name) {
			found = other.(string)
		}
		return found == ""
	})
	return found, found != ""
}

// legacyDrawing is the id of the drawing that holds the boxes of a sheet's
// comments; a sheet may have others, such as pictures in its page header.
func legacyDrawing(p *commentParts, sheet string) string {
	data, _ := p.part(sheet)
	const element = "legacyDrawing "
	at := bytes.LastIndex(data, []byte(element))
	if at < 0 {
		return ""
	}
	tag, _, _ := bytes.Cut(data[at+len(element):], []byte(">"))
	_, value, ok := bytes.Cut(tag, []byte(":id="))
	if !ok || len(value) < 2 {
		return ""
	}
	id, _, _ := bytes.Cut(value[1:], value[:1])
	return string(id)
}

// move notes a new name for a part and takes its content out until all names
// are free; it returns the name, which an earlier sheet may have given.
func (p *commentParts) move(from, to string) string {
	if earlier, ok := p.moved[from]; ok {
		return earlier
	}
	p.moved[from] = to
	_, twice := p.content[to]
	_, related := p.part(relationsName(from)) // its targets are relative to its folder
	p.clash = p.clash || twice || related && path.Dir(from) != path.Dir(to)
	for _, pair := range [][2]string{{from, to}, {relationsName(from), relationsName(to)}} {
		if data, ok := p.part(pair[0]); ok {
			p.content[pair[1]] = data
			p.file.Pkg.Delete(pair[0])
		}
	}
	return to
}

func relationsName(part string) string {
	return path.Dir(part) + "/_rels/" + path.Base(part) + ".rels"
}

// errCommentParts is a workbook whose comments are in parts that cannot be
// given other names.
var errCommentParts = errors.New("the comments of the workbook are stored in a way that no copy can keep; " +
	"open it in your spreadsheet program, save it again as Excel Workbook (.xlsx), and try once more")

// store puts the parts back under their new names.
func (p *commentParts) store() error {
	if p.clash {
		return errCommentParts
	}
	for name, data := range p.content {
		if _, taken := p.part(name); taken {
			return errCommentParts
		}
		p.file.Pkg.Store(name, data)
	}
	return p.contentTypes()
}

// contentTypes puts the new names in the list of content types.
func (p *commentParts) contentTypes() error {
	rename := func(name string) string {
		if to, ok := p.moved[strings.TrimPrefix(name, "/")]; ok {
			return "/" + to
		}
		return name
	}
	if types := p.file.ContentTypes; types != nil {
		for i, o := range types.Overrides {
			types.Overrides[i].PartName = rename(o.PartName)
		}
		return nil
	}
	const part = "[Content_Types].xml"
	data, ok := p.part(part)
	if !ok {
		return errDamaged
	}
	var types contentTypes
	if err := xml.Unmarshal(data, &types); err != nil {
		return errDamaged
	}
	for i, o := range types.Overrides {
		types.Overrides[i].PartName = rename(o.PartName)
	}
	types.XMLName = xml.Name{Space: "http://schemas.openxmlformats.org/package/2006/content-types", Local: "Types"}
	return p.write(part, types)
}

type contentTypes struct {
	XMLName  xml.Name
	Defaults []struct {
		Extension   string `xml:",attr"`
		ContentType string `xml:",attr"`
	} `xml:"Default"`
	Overrides []struct {
		PartName    string `xml:",attr"`
		ContentType string `xml:",attr"`
	} `xml:"Override"`
}
