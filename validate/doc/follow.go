package doc

import (
	"encoding/binary"
	"math/bits"
	"slices"
)

// follower reads what stands in a container by comparing it with what stands in
// its model, byte by byte, and copies the nodes as far as both are the same.
// Where they differ within a string or a number, that is read and the comparing
// goes on behind it. Anywhere else the reading goes on without the model.
type follower struct {
	p     *parser
	step  Node // from a node of the model to its copy
	shift int  // from an offset in the model to that of the same byte here
	to    int  // where the model ends
	same  int  // as far as this offset in the model the text is the same
	// The container that is read in part before, None for none, and where its
	// copy would be.
	base, copyOfBase Node
	// open is the innermost container around what differed last, outer the one
	// around all that is copied: those in which nothing differs end where the
	// model says.
	open, outer Node
}

// follow reads the container under the cursor, which no limit ends; after is
// the node after the model.
func (p *parser) follow(model, after Node) expect {
	d := p.d
	m := &d.nodes[model]
	f := follower{p: p, shift: p.i - int(m.off), to: int(m.end), base: None, copyOfBase: None, outer: p.parent}
	f.compare(int(m.off))
	root := p.add(m.kind(), p.i, 0)
	f.step, f.open = root-model, root
	first := len(d.differing)
	at := f.copyNodes(model+1, after)
	if at < after || f.same < f.to || d.broken {
		return f.leaveModel(root, first)
	}
	f.close(f.to)
	p.i = f.to + f.shift
	d.nodes[root].a = d.nodes[model].a
	d.keepEcho(root, model, after-model, first)
	if d.nodes[root].keyLen > 0 {
		p.remember(root, p.depth+1)
	}
	return p.after()
}

// resume goes on with the model of the innermost container, an object of which
// something was read, at the member of the name under the cursor. It reports
// false where the model has no such member next, and then nothing was read.
func (p *parser) resume() (next expect, ok bool) {
	d := p.d
	in := &d.open[p.depth]
	like := p.memberLike(in.like)
	if like == None {
		return 0, false
	}
	m := &d.nodes[like]
	model := m.parent
	after := d.after(model)
	n := Node(len(d.nodes))
	if len(d.nodes)+int(after-like) > p.most {
		return 0, false
	}
	f := follower{p: p, step: n - like, shift: p.i + 1 - int(m.key), to: int(d.nodes[model].end), base: p.parent, open: p.parent, outer: p.parent}
	f.copyOfBase = model + f.step
	f.compare(int(m.key) - 1)
	first := len(d.differing)
	at := f.copyNodes(like, after)
	if at == like && !d.broken {
		return 0, false
	}
	in.same = in.same && like == in.like
	d.nodes[in.last].next = n
	if at < after || f.same < f.to || d.broken {
		return f.leaveModel(n, first), true
	}
	f.close(f.to)
	f.adopt(n, in)
	d.keepEcho(n, like, after-like, first)
	p.i = f.to + f.shift - 1
	return p.close(), true
}

// memberLike returns the member with the name under the cursor, among some of
// those from like on.
func (p *parser) memberLike(like Node) Node {
	const most = 4
	d := p.d
	for tries := 0; like >= 0 && tries < most; tries++ {
		m := &d.nodes[like]
		end := p.i + 1 + int(m.keyLen)
		if m.bits&flagKeyInArena == 0 && end < len(p.data) && p.data[end] == '"' && string(p.data[p.i+1:end]) == string(d.Key(like)) {
			return like
		}
		like = m.next
	}
	return None
}

// adopt makes the values from n on the next children of a container.
func (f *follower) adopt(n Node, in *level) {
	d := f.p.d
	up := &d.nodes[f.base]
	for ; n >= 0; n = d.nodes[n].next {
		nd := &d.nodes[n]
		nd.index = up.a
		up.a++
		in.last = n
		f.p.d.checkTwice(n, in)
	}
}

// compare finds how far the text is that of the model, from an offset in the
// model on.
func (f *follower) compare(i int) {
	data := f.p.data
	f.same = i + common(data[i:f.to], data[i+f.shift:])
}

// copyNodes appends the nodes of the model from one up to another, as far as
// they are built the same, and returns the first that is not. Text that was
// unescaped is shared.
func (f *follower) copyNodes(at, after Node) Node {
	d := f.p.d
	if most := len(d.nodes) + int(after-at); most > cap(d.nodes) {
		d.nodes = slices.Grow(d.nodes, most-len(d.nodes))
	}
	nodes := d.nodes[:cap(d.nodes)]
	same, moved, step, base, copyOfBase := uint32(f.same), uint32(f.shift), f.step, f.base, f.copyOfBase
	for ; at < after; at++ {
		n := at + step
		m, nd := &nodes[at], &nodes[n]
		*nd = *m
		nd.off, nd.end = m.off+moved, m.end+moved
		nd.key = m.key + moved&(uint32(m.bits&flagKeyInArena)/uint32(flagKeyInArena)-1)
		parent := m.parent + step
		if parent == copyOfBase {
			parent = base
		}
		nd.parent = parent
		nd.next = m.next + step&^(m.next>>31)
		if m.end < same {
			continue
		}
		// It ends where the text is another already, or at the last place
		// where it is the same.
		kind := m.kind()
		whole := m.end == same
		d.nodes = nodes[:n+1]
		switch {
		case m.off >= same && (m.off > same || kind != Number):
			return f.copied(at, n)
		case kind <= Array || m.end == same && kind == String:
		case !f.differing(m, nd):
			return f.copied(at, n)
		default:
			if !whole || nd.end != m.end+moved {
				d.differing = append(d.differing, n)
			}
			same, moved = uint32(f.same), uint32(f.shift)
			if d.broken {
				return f.copied(at+1, n+1)
			}
		}
	}
	return f.copied(at, at+step)
}

// copied ends the nodes before n.
func (f *follower) copied(at, n Node) Node {
	f.p.d.nodes = f.p.d.nodes[:n]
	return at
}

// differing reads a string or number that is written otherwise than in the
// model. It reports false where something else stands there.
func (f *follower) differing(m, nd *node) bool {
	off := int(m.off) + f.shift
	text, end, ok := f.read(m, off)
	if !ok {
		return false
	}
	nd.end = uint32(end)
	nd.setText(text)
	if f.p.d.broken {
		return true
	}
	f.close(int(m.off))
	f.shift, f.open = end-int(m.end), nd.parent
	f.compare(int(m.end))
	return true
}

// close notes where those containers end in which something differed and whose
// model ends before an offset, or there.
func (f *follower) close(offset int) {
	d := f.p.d
	for f.open != f.outer {
		m := &d.nodes[f.open-f.step]
		if int(m.end) > offset {
			return
		}
		nd := &d.nodes[f.open]
		nd.end = uint32(int(m.end) + f.shift)
		f.open = nd.parent
	}
}

// setText notes where the text of a string stands.
func (nd *node) setText(s scanned) {
	nd.bits &^= flagTextInArena
	nd.a = 0
	if s.inArena {
		nd.bits |= flagTextInArena
		nd.a = s.start
	}
}

// read reads a string or a number that differs from the one in the model.
func (f *follower) read(m *node, off int) (text scanned, end int, ok bool) {
	p := f.p
	switch m.kind() {
	case Number:
		end, ok = numberEnd(p.data, off)
		return text, end, ok && (end == len(p.data) || !isWord(p.data[end]))
	case String:
		if m.bits&flagTextInArena == 0 {
			end = plainEnd(p.data, max(f.same+f.shift, off+1))
		}
		if end > 0 && end < len(p.data) && p.data[end] == '"' {
			return text, end + 1, true
		}
		p.i = off
		text = p.scanString()
		return text, p.i, true
	}
	return text, 0, false
}

// leaveModel goes on without the model, in the containers that are open. What
// was copied begins at a node.
func (f *follower) leaveModel(from Node, first int) expect {
	p, d := f.p, f.p.d
	if !d.broken {
		f.close(f.same)
	}
	// The last node, or a container around it, was the last to end.
	child, open := None, Node(len(d.nodes)-1)
	for open != f.base && (d.nodes[open].kind() > Array || int(d.nodes[open-f.step].end) <= f.same) {
		child, open = open, d.nodes[open].parent
	}
	p.parent, p.i = open, int(d.nodes[open].off)+1
	if child != None {
		p.i = int(d.nodes[child].end)
	}
	for n := open; n != f.outer; n = d.nodes[n].parent {
		p.depth++
	}
	depth := p.depth
	for n := open; n != f.outer; depth-- {
		f.reopen(n, child, &d.open[depth])
		child, n = n, d.nodes[n].parent
	}
	if f.base != None {
		in := &d.open[depth]
		in.like = d.nodes[child-f.step].next
		d.nodes[child].next = None
		f.adopt(from, in)
	}
	f.keepEchoes(from, first)
	if d.open[p.depth].last == None {
		return p.inside(d.nodes[p.parent].kind())
	}
	return p.after()
}

// keepEchoes notes the values that ended before the model was left, from a node
// on; containers that are open have no end.
func (f *follower) keepEchoes(n Node, first int) {
	d := f.p.d
	from := n
	for int(n) < len(d.nodes) {
		if nd := &d.nodes[n]; nd.kind() <= Array && nd.end == 0 {
			if from < n {
				first = d.keepEcho(from, from-f.step, n-from, first)
			}
			n++
			from = n
			continue
		}
		n = d.after(n)
	}
	if from < n {
		d.keepEcho(from, from-f.step, n-from, first)
	}
}

// reopen sets what the parser knows of a container that is still open, with
// its last child so far.
func (f *follower) reopen(n, child Node, in *level) {
	d := f.p.d
	nd := &d.nodes[n]
	nd.end, nd.a = 0, 0
	in.last, in.seen, in.same = child, 0, true
	if child == None {
		in.like = d.FirstChild(n - f.step)
		return
	}
	last := &d.nodes[child]
	in.like = d.nodes[child-f.step].next
	last.next = None
	nd.a = last.index + 1
	if nd.kind() == Object {
		for c := n + 1; c >= 0; c = d.nodes[c].next {
			in.seen |= 1 << (d.nodes[c].hash() & 63)
		}
	}
}

// common returns how many bytes a and b have in common from their beginning.
func common(a, b []byte) int {
	const block = 32
	n := min(len(a), len(b))
	a, b = a[:n], b[:n]
	for len(a) >= block && len(b) >= block {
		different := binary.LittleEndian.Uint64(a) ^ binary.LittleEndian.Uint64(b)
		different |= binary.LittleEndian.Uint64(a[8:]) ^ binary.LittleEndian.Uint64(b[8:])
		different |= binary.LittleEndian.Uint64(a[16:]) ^ binary.LittleEndian.Uint64(b[16:])
		different |= binary.LittleEndian.Uint64(a[24:]) ^ binary.LittleEndian.Uint64(b[24:])
		if different != 0 {
			break
		}
		a, b = a[block:], b[block:]
	}
	for len(a) >= 8 && len(b) >= 8 {
		if x := binary.LittleEndian.Uint64(a) ^ binary.LittleEndian.Uint64(b); x != 0 {
			return n - len(a) + bits.TrailingZeros64(x)>>3
		}
		a, b = a[8:], b[8:]
	}
	for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	return n - len(a)
}
