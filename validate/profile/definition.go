package profile

// profile is a compiled StructureDefinition.
type profile struct {
	url, version, typ string
	// name is the name in findings: the last part of the URL.
	name string
	root *element
	// isBase marks an R4 type, which the structure layer checks.
	isBase bool
	// unevaluated are the invariants and limits that cannot be evaluated.
	unevaluated []string
	// For an extension: its allowed contexts, the rules about when it can be
	// used, and whether it is a modifier.
	context      []extensionContext
	contextRules []contextRule
	isModifier   bool
}

// element is one element of a profile with its rules beyond the structure of
// R4.
type element struct {
	name      string // of the element, without [x]
	path      string // path below the resource, with slices, for messages
	slice     string // slice name
	choice    bool
	min       int
	max       int // -1 for any number
	counted   bool
	types     []typeRef
	narrowed  bool // types need a check
	fixed     *wanted
	pattern   *wanted
	valueSet  string // of a required binding, or the maximum value set of another
	wide      string // value set of an extensible binding
	limits    []limit
	must      bool // must-support
	rules     []constraint
	slicing   *slicing
	slices    []*element
	children  []*element
	reference string // content reference
	content   *element
}

type typeRef struct {
	code              string
	profiles, targets []string
	aggregation       []string // contained, referenced, bundled
	versioning        string   // either, independent, specific
}

type slicing struct {
	discriminators []discriminator
	ordered        bool
	rules          string
}

type discriminator struct {
	kind string // value, pattern, exists, type, profile
	path string
	// steps of the path; nil for a path other than $this that is not
	// supported.
	steps []step
	ok    bool
}

// step is one step of a discriminator's path.
type step struct {
	kind stepKind
	name string // of the element, the extension's URL, or the type
}

type stepKind uint8

const (
	stepMember stepKind = iota
	stepExtension
	stepOfType
	stepResolve
)

// isOpaque reports an element without rules.
func (e *element) isOpaque(withMust bool) bool {
	return !e.counted && !e.narrowed && e.fixed == nil && e.pattern == nil && e.valueSet == "" && e.wide == "" &&
		!(withMust && e.must) && len(e.limits) == 0 && len(e.rules) == 0 && e.slicing == nil && len(e.slices) == 0 && len(e.children) == 0 && e.reference == "" && !e.hasProfile()
}

func (e *element) hasProfile() bool {
	for _, t := range e.types {
		if len(t.profiles) > 0 || len(t.targets) > 0 || t.isHeld() {
			return true
		}
	}
	return false
}

// isHeld reports a reference with a rule about aggregation or version.
func (t *typeRef) isHeld() bool {
	return len(t.aggregation) > 0 || t.versioning != "" && t.versioning != "either"
}

// child returns the child element with the name.
func (e *element) child(name string) *element {
	for _, c := range e.children {
		if c.name == name {
			return c
		}
	}
	return nil
}

func (e *element) hasMandatorySlice() bool {
	for _, s := range e.slices {
		if s.min > 0 {
			return true
		}
	}
	return false
}
