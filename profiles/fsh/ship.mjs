// What of the compiled resources is shipped, and how it is written.

/** Elements of an inherited definition that change nothing about validity. */
const dropped = ['mapping', 'comment', 'requirements', 'alias', 'example', 'isSummary', 'orderMeaning'];

/** Invariants of the types Element and Extension, which hold there already. */
const ofEveryElement = new Set(['ele-1', 'ext-1']);

/**
 * slim leaves out of a snapshot what only explains HL7's own elements. The
 * differential keeps all of ours, and R4's sdf-3 is kept: every element has a
 * definition and a cardinality.
 */
function slim(resource) {
  if (resource.resourceType !== 'StructureDefinition') return resource;
  const ours = new Map(resource.differential.element.map((e) => [e.id, e]));
  const out = { ...resource, snapshot: { element: [] } };
  delete out.mapping;
  for (const element of resource.snapshot.element) {
    const copy = { ...element };
    for (const name of dropped) {
      if (!(name in (ours.get(element.id) ?? {}))) delete copy[name];
    }
    const constraint = (copy.constraint ?? []).filter((c) => !ofEveryElement.has(c.key)).map(({ xpath, ...rest }) => rest);
    delete copy.constraint;
    if (constraint.length > 0) copy.constraint = constraint;
    out.snapshot.element.push(copy);
  }
  return out;
}

/**
 * lines writes JSON with one line for each element of a list near the top, so
 * that the files are small and a change shows as the lines it changes.
 */
function lines(value, depth = 0) {
  if (depth >= 3 || value === null || typeof value !== 'object') return JSON.stringify(value);
  const pad = ' '.repeat(depth + 1);
  const [open, close, items] = Array.isArray(value)
    ? ['[', ']', value.map((v) => lines(v, depth + 1))]
    : ['{', '}', Object.entries(value).map(([k, v]) => `${JSON.stringify(k)}: ${lines(v, depth + 1)}`)];
  return `${open}\n${items.map((i) => pad + i).join(',\n')}\n${' '.repeat(depth)}${close}`;
}

const escaped = (s) => s.replace(/&/g, '&amp;').replace(/</g, '&lt;').replace(/>/g, '&gt;').replace(/"/g, '&quot;');

/**
 * narrated gives every resource a sentence for a person (R4 dom-6): its title
 * and description, for an example those the guide lists it under.
 */
export function narrated(resources) {
  const guide = resources.find((r) => r.resourceType === 'ImplementationGuide');
  const listed = new Map(guide.definition.resource.map((r) => [r.reference.reference, r]));
  return resources.map((resource) => {
    if (resource.resourceType === 'Bundle') return resource;
    const entry = listed.get(`${resource.resourceType}/${resource.id}`);
    const words = [resource.title ?? entry?.name, resource.description ?? entry?.description].filter(Boolean).join('. ');
    const { resourceType, id, meta, ...rest } = resource;
    const text = { status: 'generated', div: `<div xmlns="http://www.w3.org/1999/xhtml">${escaped(words)}</div>` };
    return { resourceType, id, ...(meta && { meta }), text, ...rest };
  });
}

/**
 * clean leaves out what SUSHI writes into the guide and R4 4.0.1 forbids: empty
 * lists, and parameters of a publisher's tool that are not in the value set.
 */
function clean(value) {
  if (Array.isArray(value)) return value.map(clean);
  if (value === null || typeof value !== 'object') return value;
  const tool = (k, v) => k === 'parameter' && v.some?.((p) => p.code === 'copyrightyear');
  return Object.fromEntries(Object.entries(value).filter(([k, v]) => !(Array.isArray(v) && v.length === 0) && !tool(k, v)).map(([k, v]) => [k, clean(v)]));
}

/** versioned gives a definition the version and date of the guide, which a publisher's tool would add. */
function versioned(resource, guide) {
  const { resourceType, id, text, url, ...rest } = resource;
  if (url === undefined) return resource;
  return { resourceType, id, ...(text && { text }), url, version: guide.version, date: guide.date, publisher: guide.publisher, ...rest };
}

const isDefinition = (r) => r.url !== undefined && r.resourceType !== 'Bundle' || r.resourceType === 'NamingSystem';

/**
 * pack returns the files of the package by name, sorted. views are the SQL on
 * FHIR view definitions, which R4 does not know: they have a folder of their own.
 */
export function pack(resources, invalid, views) {
  const files = new Map();
  const guide = resources.find((r) => r.resourceType === 'ImplementationGuide');
  const put = (folder, r, name = `${r.resourceType}-${r.id}`) => files.set(`${folder}${name}.json`, `${lines(r)}\n`);
  for (const r of resources) {
    if (isDefinition(r)) put('', slim(versioned(clean(r), guide)));
    else put('examples/', r);
  }
  for (const { name, resource } of invalid) put('tests/', resource, name);
  const expected = invalid.map(({ name, resource, why, profile, path, rule, severity }) => ({
    file: `${name}.json`, resourceType: resource.resourceType, profile, expression: path, rule, severity, why,
  }));
  files.set('tests/expected.json', `${lines(expected)}\n`);
  files.set('package.json', packageManifest(guide));
  for (const view of views) put('views/', versioned(view, guide));
  return new Map([...files].sort(([a], [b]) => (a < b ? -1 : 1)));
}

function packageManifest(guide) {
  return `${JSON.stringify({
    name: guide.packageId, version: guide.version, canonical: guide.url.replace(/\/ImplementationGuide\/.*/, ''),
    url: guide.url.replace(/\/ImplementationGuide\/.*/, ''), title: guide.title, description: guide.description,
    type: 'IG', fhirVersions: guide.fhirVersion, dependencies: { 'hl7.fhir.r4.core': '4.0.1' },
    author: guide.publisher, license: guide.license, directories: { lib: 'package', example: 'examples' },
  }, null, 1)}\n`;
}
