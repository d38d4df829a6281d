package doc

import "bytes"

// Repeat is a member's value that stands in the document before, byte by byte
// the same: records say who the patient is, and of which category a reading is,
// again and again. Its nodes were copied, not read, and a layer that found the
// first one right, whatever stands around it, need not look at it again.
type Repeat struct {
	// Node is the value, Of the one before. Each has the same number of nodes,
	// Len with the value itself, numbered on from it.
	Node, Of Node
	Len      int
}

// Repeats returns the repeated values, in document order. None stands in
// another. Not every value that stands twice is among them. The slice is the
// Doc's.
func (d *Doc) Repeats() []Repeat { return d.repeats }

// longestRepeat bounds the bytes that are compared in vain where long values
// that differ at their end stand in each other under one name.
const longestRepeat = 1 << 10

// closed is the container that ended last as value of a member with some name.
type closed struct {
	node, after Node // after is the first node that does not stand in it
	depth       int32
	document    uint32 // Doc.document; of another one it is forgotten
}

// remember keeps a member's value that ended here.
func (p *parser) remember(n Node) {
	p.d.latest[p.d.nodes[n].hash()] = closed{n, Node(len(p.d.nodes)), int32(p.depth), p.d.document}
}

// repeats reports whether the container under the cursor is the one that was
// the value of the latest member with this name, and then takes it over. From
// the first fault on every value is read, so that each fault is told where it
// stands.
func (p *parser) repeats(kind Kind) bool {
	d := p.d
	last := d.latest[p.bits>>hashShift]
	if last.document != d.document || len(d.findings) > 0 || int(last.depth) < p.depth+1 {
		return false
	}
	raw := d.Raw(last.node)
	if len(raw) > longestRepeat || !bytes.HasPrefix(p.data[p.i:], raw) || len(d.nodes)+int(last.after-last.node) > p.most {
		return false
	}
	n := p.add(kind, p.i, p.i+len(raw))
	d.nodes[n].a = d.nodes[last.node].a
	d.copyNodes(last, n)
	d.repeats = append(d.repeats, Repeat{n, last.node, int(last.after - last.node)})
	d.latest[p.bits>>hashShift] = closed{n, Node(len(d.nodes)), last.depth, d.document}
	p.i += len(raw)
	return true
}

// copyNodes appends what stands in a container, moved to where n stands.
// Unescaped text is shared.
func (d *Doc) copyNodes(from closed, n Node) {
	step := n - from.node
	moved := d.nodes[n].off - d.nodes[from.node].off
	d.nodes = append(d.nodes, d.nodes[from.node+1:from.after]...)
	for i := range d.nodes[n+1:] {
		nd := &d.nodes[int(n)+1+i]
		nd.off += moved
		nd.end += moved
		nd.parent += step
		if nd.next != None {
			nd.next += step
		}
		if nd.keyLen > 0 && nd.bits&flagKeyInArena == 0 {
			nd.key += moved
		}
	}
}
