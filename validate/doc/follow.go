package doc

import (
	"encoding/binary"
	"math/bits"
	"slices"
)

// follower reads a container by comparing it with its model, byte by byte, and
// copies the nodes of the model as far as both are the same. Where they differ
// within a string or a number, that is read and the comparing goes on behind
// it. Anywhere else the reading goes on without the model.
type follower struct {
	p     *parser
	step  Node // from a node of the model to its copy
	shift int  // from an offset in the model to that of the same byte here
	to    int  // where the model ends
	same  int  // as far as this offset in the model the text is the same
	// open is the innermost container around what differed last; those in
	// which nothing differs end where the model says.
	open Node
}

// follow reads the container under the cursor, which no limit ends; after is
// the node after the model.
func (p *parser) follow(model, after Node) expect {
	d := p.d
	m := &d.nodes[model]
	f := follower{p: p, shift: p.i - int(m.off), to: int(m.end)}
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
	d.keepEcho(root, model, int(after-model), first)
	if d.nodes[root].keyLen > 0 {
		p.remember(root, p.depth+1)
	}
	return p.after()
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
	same, moved := uint32(f.same), uint32(f.shift)
	for ; at < after; at++ {
		n := at + f.step
		m, nd := &nodes[at], &nodes[n]
		nd.off, nd.end = m.off+moved, m.end+moved
		nd.key = m.key + moved&(uint32(m.bits&flagKeyInArena)/uint32(flagKeyInArena)-1)
		nd.parent = m.parent + f.step
		nd.next = m.next + f.step&^(m.next>>31)
		nd.index, nd.a, nd.keyLen, nd.bits = m.index, m.a, m.keyLen, m.bits
		if m.end < same {
			continue
		}
		// It ends where the text is another already, or at the last place
		// where it is the same.
		kind := m.kind()
		d.nodes = nodes[:n+1]
		switch {
		case m.off >= same && (m.off > same || kind != Number):
			return f.copied(at, n)
		case kind <= Array || m.end == same && kind == String:
		case !f.differing(m, n, nd):
			return f.copied(at, n)
		default:
			d.differing = append(d.differing, n)
			same, moved = uint32(f.same), uint32(f.shift)
			if d.broken {
				return f.copied(at+1, n+1)
			}
		}
	}
	return f.copied(at, at+f.step)
}

// copied ends the nodes before n.
func (f *follower) copied(at, n Node) Node {
	f.p.d.nodes = f.p.d.nodes[:n]
	return at
}

// differing reads a string or number that is written otherwise than in the
// model. It reports false where something else stands there.
func (f *follower) differing(m *node, n Node, nd *node) bool {
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
	for f.open != f.p.parent {
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

// leaveModel goes on without the model, in the containers that are open.
func (f *follower) leaveModel(root Node, first int) expect {
	p, d := f.p, f.p.d
	if !d.broken {
		f.close(f.same)
	}
	// The last node, or a container around it, was the last to end.
	child, open := None, Node(len(d.nodes)-1)
	for d.nodes[open].kind() > Array || int(d.nodes[open-f.step].end) <= f.same {
		child, open = open, d.nodes[open].parent
	}
	p.parent, p.i = open, int(d.nodes[open].off)+1
	if child != None {
		p.i = int(d.nodes[child].end)
	}
	outer := p.depth
	for n := open; n >= root; n = d.nodes[n].parent {
		p.depth++
	}
	in := p.depth
	for n := open; in > outer; in-- {
		f.reopen(n, child, &d.open[in])
		child, n = n, d.nodes[n].parent
	}
	f.keepEchoes(root, first)
	if d.open[p.depth].last == None {
		return p.inside(d.nodes[p.parent].kind())
	}
	return p.after()
}

// keepEchoes notes the containers that ended before the model was left; those
// that are open have no end.
func (f *follower) keepEchoes(root Node, first int) {
	d := f.p.d
	for n := root; int(n) < len(d.nodes); {
		nd := &d.nodes[n]
		if nd.kind() > Array || nd.end == 0 {
			n++
			continue
		}
		after := d.after(n)
		first = d.keepEcho(n, n-f.step, int(after-n), first)
		n = after
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
	n := min(len(a), len(b))
	a, b = a[:n], b[:n]
	i := 0
	for ; i+8 <= n; i += 8 {
		if x := binary.LittleEndian.Uint64(a[i:]) ^ binary.LittleEndian.Uint64(b[i:]); x != 0 {
			return i + bits.TrailingZeros64(x)>>3
		}
	}
	for i < n && a[i] == b[i] {
		i++
	}
	return i
}
