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
	same  int  // as far as this the text is the model's
	i     int  // after the last value, or the last bracket that opened one
	open  Node // innermost open container
	depth int
}

// follow reads the container under the cursor, which no limit ends; after is
// the node after the model.
func (p *parser) follow(model, after Node) expect {
	d := p.d
	m := d.nodes[model]
	root := p.add(m.kind(), p.i, 0)
	f := follower{p: p, step: root - model, shift: p.i - int(m.off), to: int(m.end), depth: p.depth}
	f.compare(p.i)
	f.enter(root)
	first := len(d.differing)
	for at := model + 1; at < after; at++ {
		if !f.node(at) {
			return f.leaveModel(root, first)
		}
	}
	if f.same < f.to+f.shift {
		return f.leaveModel(root, first)
	}
	for f.open != p.parent {
		f.close()
	}
	p.i = f.i
	d.keepEcho(root, model, int(after-model), first)
	if d.nodes[root].keyLen > 0 {
		p.remember(root, p.depth+1)
	}
	return p.after()
}

// compare finds how far the text from i on is that of the model.
func (f *follower) compare(i int) {
	data := f.p.data
	f.same = i + common(data[i-f.shift:f.to], data[i:])
}

// enter makes a container that was just added the innermost open one.
func (f *follower) enter(n Node) {
	d := f.p.d
	f.open = n
	f.i = int(d.nodes[n].off) + 1
	f.depth++
	d.open[f.depth].last = None
}

// close ends the innermost open container.
func (f *follower) close() {
	d := f.p.d
	m, nd := &d.nodes[f.open-f.step], &d.nodes[f.open]
	f.i = int(m.end) + f.shift
	nd.end, nd.a = uint32(f.i), m.a
	f.open = nd.parent
	f.depth--
}

// node copies a node of the model and reports whether the next one may follow.
func (f *follower) node(at Node) bool {
	d := f.p.d
	m := &d.nodes[at]
	kind := m.kind()
	shift := f.shift
	off, end := int(m.off)+shift, int(m.end)+shift
	if off >= f.same && (off > f.same || kind != Number) {
		return false
	}
	for f.open-f.step != m.parent {
		f.close()
	}
	differs := kind > Array && end >= f.same && (end > f.same || kind != String)
	var text scanned
	if differs {
		var ok bool
		if text, end, ok = f.read(m, off); !ok {
			return false
		}
	}
	n := at + f.step
	if int(n) == cap(d.nodes) {
		d.nodes = append(d.nodes, node{})
		m = &d.nodes[at]
	} else {
		d.nodes = d.nodes[:n+1]
	}
	nd := &d.nodes[n]
	*nd = *m
	nd.off, nd.end = uint32(off), uint32(end)
	nd.parent += f.step
	if nd.next >= 0 {
		nd.next += f.step
	}
	if nd.keyLen > 0 && nd.bits&flagKeyInArena == 0 {
		nd.key += uint32(shift)
	}
	d.open[f.depth].last = n
	switch {
	case differs:
		nd.setText(text)
		d.differing = append(d.differing, n)
		f.i = end
		return !d.broken
	case kind <= Array:
		f.enter(n)
	default:
		f.i = end
	}
	return true
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

// read reads a string or a number that differs from the one in the model, and
// compares what follows.
func (f *follower) read(m *node, off int) (text scanned, end int, ok bool) {
	p := f.p
	switch m.kind() {
	case Number:
		end, ok = numberEnd(p.data, off)
		if !ok || end < len(p.data) && isWord(p.data[end]) {
			return text, 0, false
		}
	case String:
		if m.bits&flagTextInArena == 0 {
			end = plainEnd(p.data, max(f.same, off+1))
		}
		if end > 0 && end < len(p.data) && p.data[end] == '"' {
			end++
			break
		}
		p.i = off
		text = p.scanString()
		end = p.i
		if p.d.broken {
			f.same = off
			return text, end, true
		}
	default:
		return text, 0, false
	}
	f.shift = end - int(m.end)
	f.compare(end)
	return text, end, true
}

// leaveModel goes on without the model, in the containers that are open.
func (f *follower) leaveModel(root Node, first int) expect {
	p, d := f.p, f.p.d
	for int(d.nodes[f.open-f.step].end)+f.shift <= f.same {
		f.close()
	}
	p.i, p.parent, p.depth = f.i, f.open, f.depth
	for n, depth := f.open, f.depth; n >= root; n, depth = d.nodes[n].parent, depth-1 {
		f.reopen(n, &d.open[depth])
	}
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
	if d.open[p.depth].last == None {
		return p.inside(d.nodes[p.parent].kind())
	}
	return p.after()
}

// reopen sets what the parser knows of a container that is still open.
func (f *follower) reopen(n Node, in *level) {
	d := f.p.d
	nd := &d.nodes[n]
	nd.end, nd.a = 0, 0
	in.seen, in.same, in.like = 0, true, n-f.step+1
	if in.last == None {
		if d.nodes[n-f.step].a == 0 {
			in.like = None
		}
		return
	}
	last := &d.nodes[in.last]
	in.like = d.nodes[in.last-f.step].next
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
