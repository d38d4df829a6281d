// What @medplum/core 4.5.2 does not look at: required bindings, the types a
// profile leaves of a choice, and values fixed below one of those types.

/** all lists a code system's concepts, nested ones too. */
const all = (concepts) => (concepts ?? []).flatMap((c) => [c, ...all(c.concept)]);

const known = new Map();

/** codes lists "system|code" of a value set without filters, else undefined. */
function codes(url, definitions) {
  if (!known.has(url)) known.set(url, expand(url, definitions));
  return known.get(url);
}

function expand(url, definitions) {
  const set = definitions.find((d) => d.resourceType === 'ValueSet' && d.url === url.split('|')[0]);
  if (!set?.compose || set.compose.exclude) return undefined;
  const out = new Set();
  for (const include of set.compose.include) {
    if (include.filter || include.valueSet) return undefined;
    const system = definitions.find((d) => d.resourceType === 'CodeSystem' && d.url === include.system);
    if (!include.concept && system?.content !== 'complete') return undefined;
    for (const c of include.concept ?? all(system.concept)) out.add(`${include.system}|${c.code}`);
  }
  return out;
}

const upper = (c) => c !== undefined && c === c.toUpperCase();
const choices = (node, stem) => Object.keys(node).filter((k) => k.startsWith(stem) && upper(k[stem.length]));

/** at walks a path of element names below a node, choices included. */
export function at(node, [name, ...rest]) {
  if (name === undefined) return [node];
  const values = name.endsWith('[x]') ? choices(node, name.slice(0, -3)).map((k) => node[k]) : [node[name]];
  return values.flat().filter((v) => v !== undefined).flatMap((v) => at(v, rest));
}

const coded = (value, set) => (typeof value === 'string'
  ? [...set].some((k) => k.endsWith(`|${value}`)) // a code: the element fixes the system
  : (value.coding ?? [value]).some((c) => set.has(`${c.system}|${c.code}`)));

function bindingIssue(resource, e, set) {
  const sliced = e.id.includes(':');
  const values = at(resource, e.path.split('.').slice(1));
  const wrong = sliced // a value of the slice is enough
    ? values.length > 0 && !values.some((v) => coded(v, set))
    : values.some((v) => !coded(v, set));
  return wrong ? [`${e.id}: not in ${e.binding.valueSet}`] : [];
}

function choiceIssues(resource, e) {
  const steps = e.path.split('.').slice(1);
  const stem = steps.pop().slice(0, -3);
  const allowed = e.type.map((t) => stem + t.code[0].toUpperCase() + t.code.slice(1));
  return at(resource, steps).flatMap((node) => choices(node, stem).filter((k) => !allowed.includes(k)).map((k) => `${e.id}: ${k}`));
}

/** fixedIssues compares values fixed below a choice's type, such as value[x]:valueQuantity.code. */
function fixedIssues(resource, e) {
  const fixed = Object.entries(e).find(([k, v]) => k.startsWith('fixed') && typeof v === 'string')?.[1];
  const id = e.id.replace(/\w+\[x\]:(\w+)/, '$1');
  if (fixed === undefined || id === e.id || id.includes(':')) return [];
  return at(resource, id.split('.').slice(1)).filter((v) => v !== fixed).map((v) => `${e.id}: ${v} is not ${fixed}`);
}

/** elementIssues lists what is wrong by required bindings, choices and values fixed below them. */
export function elementIssues(resource, profile, definitions) {
  return profile.snapshot.element.flatMap((e) => {
    const issues = e.path.endsWith('[x]') && !e.id.includes(':') ? choiceIssues(resource, e) : fixedIssues(resource, e);
    const set = e.binding?.strength === 'required' && e.binding.valueSet && codes(e.binding.valueSet, definitions);
    return set ? [...issues, ...bindingIssue(resource, e, set)] : issues;
  });
}
