package r4

// Composition is the first resource of a document, with the elements we write.
type Composition struct {
	ID         string          `json:"id,omitempty"`
	Text       *Narrative      `json:"text,omitempty"`
	Identifier *Identifier     `json:"identifier,omitempty"`
	Status     string          `json:"status"`
	Type       CodeableConcept `json:"type"`
	Subject    *Reference      `json:"subject,omitempty"`
	Date       string          `json:"date"`
	Author     []Reference     `json:"author"`
	Title      string          `json:"title"`
	Section    []Section       `json:"section,omitempty"`
}

// Section is Composition.section; R4 invariant cmp-1 requires a text, an entry
// or a section in it.
type Section struct {
	Title string      `json:"title,omitempty"`
	Text  *Narrative  `json:"text,omitempty"`
	Entry []Reference `json:"entry,omitempty"`
}
