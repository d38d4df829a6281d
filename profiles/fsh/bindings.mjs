// Required bindings to value sets of the package.

/** codes lists "system|code" of a value set that is given by enumeration. */
function codes(url, definitions) {
  const set = definitions.find((d) => d.resourceType === 'ValueSet' && d.url === url.split('|')[0]);
  if (!set) return undefined; // HL7's own: the base engines' business
  const out = new Set();
  for (const include of set.compose.include) {
    if (include.filter) return undefined;
    const system = definitions.find((d) => d.resourceType === 'CodeSystem' && d.url === include.system);
    for (const c of include.concept ?? system?.concept ?? []) out.add(`${include.system}|${c.code}`);
  }
  return out;
}

/** at walks a path of element names below the resource, choices included. */
function at(node, [name, ...rest]) {
  if (name === undefined) return [node];
  const values = name.endsWith('[x]')
    ? Object.keys(node).filter((k) => k.startsWith(name.slice(0, -3))).map((k) => node[k])
    : [node[name]];
  return values.flat().filter((v) => v !== undefined).flatMap((v) => at(v, rest));
}

const coded = (value, known) => (typeof value === 'string'
  ? [...known].some((k) => k.endsWith(`|${value}`)) // a code: the element fixes the system
  : (value.coding ?? [value]).some((c) => known.has(`${c.system}|${c.code}`)));

/** bindingIssues lists the elements whose code is not in a required value set. */
export function bindingIssues(resource, profile, definitions) {
  const issues = [];
  for (const e of profile.snapshot.element) {
    if (e.binding?.strength !== 'required' || !e.binding.valueSet) continue;
    const known = codes(e.binding.valueSet, definitions);
    if (!known) continue;
    const slice = e.id.match(/:([^.]+)/); // a slice: one of them is enough
    const values = at(resource, e.path.split('.').slice(1));
    if (slice ? values.length > 0 && !values.some((v) => coded(v, known)) : values.some((v) => !coded(v, known))) issues.push(e.id);
  }
  return issues;
}
