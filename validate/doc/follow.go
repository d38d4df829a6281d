package doc

import (
	"encoding/binary"
	"math/bits"
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
	copied, at := model+1, model+1
	for {
		at = f.differs(at, after)
		d.copyNodes(copied, at, f.step, f.shift)
		if copied = at; at == after || !f.differing(at) {
			break
		}
		copied, at = at+1, at+1
	}
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

// differs returns the first node of the model, from at on, that is not copied
// as it is.
func (f *follower) differs(at, after Node) Node {
	same := uint32(f.same)
	for nodes := f.p.d.nodes; at < after; at++ {
		m := &nodes[at]
		if m.end < same {
			continue
		}
		kind := m.kind()
		if m.off >= same || kind > Array && (m.end > same || kind != String) {
			break
		}
	}
	return at
}

// differing copies a string or number that is written otherwise than in the
// model. It reports false where something else stands there.
func (f *follower) differing(at Node) bool {
	d := f.p.d
	m := d.nodes[at]
	if m.kind() <= Array || int(m.off) >= f.same && (int(m.off) > f.same || m.kind() != Number) {
		return false
	}
	text, end, ok := f.read(&m, int(m.off)+f.shift)
	if !ok {
		return false
	}
	d.copyNodes(at, at+1, f.step, f.shift)
	n := at + f.step
	nd := &d.nodes[n]
	nd.end = uint32(end)
	nd.setText(text)
	d.differing = append(d.differing, n)
	if d.broken {
		return false
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

// copyNodes appends the nodes from one up to another, moved by a number of
// nodes and of bytes. Unescaped text is shared.
func (d *Doc) copyNodes(from, to, step Node, shift int) {
	moved := uint32(shift)
	d.nodes = append(d.nodes, d.nodes[from:to]...)
	added := d.nodes[from+step:]
	for i := range added {
		nd := &added[i]
		nd.off += moved
		nd.end += moved
		nd.parent += step
		if nd.next >= 0 {
			nd.next += step
		}
		if nd.bits&flagKeyInArena == 0 {
			nd.key += moved
		}
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
	const block = 64
	i := 0
	for i+block <= n && string(a[i:i+block]) == string(b[i:i+block]) {
		i += block
	}
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
