package doc

// Echo is one value, or several members or items one after the other, with the
// names, the kinds and what stands in them of as many before in the document:
// records say again and again who the patient is and of which category a
// reading is, and one reading is built like another. At most the texts of some
// strings and numbers are written otherwise. A layer that found the ones before
// right, as far as what stands around them is the same, need only look at what
// differs.
type Echo struct {
	// Node is the first value, Of the one before. There are Len nodes of each,
	// numbered on from it in the same order.
	Node, Of Node
	Len      int

	first, end int32 // in Doc.differing
}

// Echoes returns what was read as echo, in document order. None stands in
// another. Not all that could be one is among them. The slice is the Doc's.
func (d *Doc) Echoes() []Echo { return d.echoes }

// Differing returns the strings and numbers of an echo that are written
// otherwise than in the one before, in document order. The slice is the Doc's.
func (d *Doc) Differing(e *Echo) []Node { return d.differing[e.first:e.end] }

// keepEcho notes that the nodes from n on echo those from of on. What differs in
// them stands in d.differing from the index first on, or later; it returns the
// index after it.
func (d *Doc) keepEcho(n, of, size Node, first int) (end int) {
	for first < len(d.differing) && d.differing[first] < n {
		first++
	}
	for end = first; end < len(d.differing) && d.differing[end] < n+size; {
		end++
	}
	d.echoes = append(d.echoes, Echo{n, of, int(size), int32(first), int32(end)})
	return end
}

// after returns the node that follows the value and all that stands in it.
func (d *Doc) after(n Node) Node {
	for ; n >= 0; n = d.nodes[n].parent {
		if next := d.nodes[n].next; next >= 0 {
			return next
		}
	}
	return Node(len(d.nodes))
}

// closed is the container that ended last as value of a member with some name.
type closed struct {
	node     Node
	depth    int32
	document uint32 // Doc.document; of another one it is forgotten
}

// remember keeps a member's value that ended here.
func (p *parser) remember(n Node, depth int) {
	p.d.latest[p.d.nodes[n].hash()] = closed{n, int32(depth), p.d.document}
}

// model returns a container before that the one under the cursor is likely to
// echo, or None: the one that stands in its place in the model of the container
// around, else the latest member's value with its name, or the item before it.
// From the first fault on there is none, so that each fault is told where it
// stands. After is the node that follows the model.
func (p *parser) model(kind Kind) (model, after Node) {
	d := p.d
	model, after = None, None
	switch in := &d.open[p.depth]; {
	case len(d.findings) > 0 || p.parent == None:
	case d.nodes[p.parent].kind() == Object:
		if model = p.met; model == None {
			last := &d.latest[p.bits>>hashShift]
			if last.document == d.document && int(last.depth) > p.depth && string(d.Key(last.node)) == string(p.nameRead()) {
				model = last.node
			}
		}
	case in.like >= 0:
		model = in.like
		in.like = d.nodes[model].next
	case d.nodes[p.parent].a > 0:
		model, after = in.last, Node(len(d.nodes))
	}
	if d.Kind(model) != kind {
		return None, None
	}
	if after == None {
		after = d.after(model)
	}
	return model, after
}

// meet notes that the member whose name was just read comes next.
func (p *parser) meet() {
	d := p.d
	in := &d.open[p.depth]
	p.met = None
	if in.like < 0 {
		in.same = false
		return
	}
	name, hash := p.nameRead(), uint32(p.bits>>hashShift)
	m := &d.nodes[in.like]
	if m.hash() != hash || string(d.Key(in.like)) != string(name) { // it may have been left out
		in.same = false
		if m.next < 0 || d.nodes[m.next].hash() != hash || string(d.Key(m.next)) != string(name) {
			return
		}
		in.like = m.next
		m = &d.nodes[in.like]
	}
	p.met, in.like = in.like, m.next
}

// nameRead is the member name read last.
func (p *parser) nameRead() []byte {
	if p.bits&flagKeyInArena != 0 {
		return p.d.arena[p.key : p.key+uint32(p.keyLen)]
	}
	return p.data[p.key : p.key+uint32(p.keyLen)]
}
