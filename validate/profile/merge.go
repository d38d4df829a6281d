package profile

import "slices"

// merge applies the differential of an element; the rest is unchanged.
func (b *branch) merge(def *elementDefinition, url string) {
	d := &b.def
	d.Min, d.MaxLength, d.MustSupport = either(def.Min, d.Min), either(def.MaxLength, d.MaxLength), either(def.MustSupport, d.MustSupport)
	d.IsModifier = either(def.IsModifier, d.IsModifier)
	d.fixed, d.pattern = either(def.fixed, d.fixed), either(def.pattern, d.pattern)
	d.minValue, d.maxValue = either(def.minValue, d.minValue), either(def.maxValue, d.maxValue)
	if def.Max != "" {
		d.Max = def.Max
	}
	if len(def.Type) > 0 {
		d.Type = def.Type
	}
	if def.ContentReference != "" {
		d.ContentReference = def.ContentReference
	}
	if s := def.Binding; s != nil {
		merged := *s
		if old := d.Binding; old != nil {
			merged.Strength, merged.ValueSet = first(s.Strength, old.Strength), first(s.ValueSet, old.ValueSet)
		}
		d.Binding = &merged
	}
	if s := def.Slicing; s != nil {
		merged := *s
		if old := d.Slicing; old != nil {
			merged.Rules, merged.Ordered = first(s.Rules, old.Rules), either(s.Ordered, old.Ordered)
			if len(s.Discriminator) == 0 {
				merged.Discriminator = old.Discriminator
			}
		}
		d.Slicing = &merged
	}
	d.Extension = append(slices.Clip(d.Extension), def.Extension...)
	for _, c := range def.Constraint {
		c.Source = first(c.Source, url)
		same := func(other elementConstraint) bool { return other.Key == c.Key }
		d.Constraint = append(slices.DeleteFunc(slices.Clone(d.Constraint), same), c)
	}
}

func either[T any](a, b *T) *T {
	if a != nil {
		return a
	}
	return b
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
