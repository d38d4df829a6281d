// Evaluates the invariants of R4 4.0.1 with npm fhirpath on every element of
// a resource, those in Bundle entries and contained ones included.
import { readFileSync } from 'node:fs';
import fhirpath from 'fhirpath';
import model from 'fhirpath/fhir-context/r4/index.js';
import { resourceTypes, walk } from './definitions.mjs';

const table = JSON.parse(readFileSync(new URL('../r4-invariants.json', import.meta.url), 'utf8'));

// Types of the list that are not of R4 4.0.1.
const notR4 = new Set(['SubscriptionStatus', 'MetadataResource']);
// What npm fhirpath 5.2.2 cannot evaluate: regular expressions that JavaScript
// refuses in Unicode mode.
const notEvaluated = new Set(['eld-16', 'eld-19', 'eld-20']);
// Said again on the element of the type; the type's own entry is enough.
const repeated = new Set(['Element.extension', 'Extension.extension']);
const domainResource = [...resourceTypes].filter((t) => !['Bundle', 'Binary', 'Parameters'].includes(t));

const byPath = new Map();
function add(path, invariant) {
  if (!byPath.has(path)) byPath.set(path, []);
  byPath.get(path).push(invariant);
}
for (const i of table) {
  if (notR4.has(i.type) || repeated.has(i.path) || notEvaluated.has(i.key)) continue;
  for (const path of i.path === 'DomainResource' ? domainResource : [i.path]) add(path, i);
}
// Age, Count, Distance and Duration are Quantities too.
for (const t of ['Age', 'Count', 'Distance', 'Duration']) {
  for (const i of byPath.get('Quantity')) add(t, i);
}
const everyElement = byPath.get('Element');

const options = { traceFn: () => {} };
const systems = {
  ucum: 'http://unitsofmeasure.org', loinc: 'http://loinc.org', sct: 'http://snomed.info/sct',
};
const compiled = new Map();

// dom-3 of R4 4.0.1 says as() of a collection, which FHIRPath 2.0 allows of a
// single item only; R5 says ofType(), which is what is meant. resolve() would
// ask a server; what the member in ctm-1 leads to is looked up here.
const asWritten = (expr) => expr.replaceAll('descendants().as(', 'descendants().ofType(').replace('member.resolve()', '%member');

/**
 * lookUp finds what a reference leads to in the resource around it or in the
 * entries of the Bundle around that.
 */
function lookUp(reference, root, entries) {
  if (reference?.startsWith('#')) return reference === '#' ? root : root.contained?.find((r) => `#${r.id}` === reference);
  const bare = reference?.split('/_history/')[0];
  const isRest = (url) => !url || url.startsWith('http');
  const named = ({ fullUrl, resource: r }) => r && (fullUrl === bare || isRest(fullUrl) && `${r.resourceType}/${r.id}` === bare);
  return bare && entries.find(named)?.resource;
}

function evaluate(invariant, path, { node, resource, root }, entries) {
  const key = `${path}\n${invariant.expr}`;
  if (!compiled.has(key)) {
    const base = path.replace('[x]', '');
    compiled.set(key, fhirpath.compile({ base, expression: asWritten(invariant.expr) }, model, options));
  }
  const member = lookUp(node.member?.reference, root, entries) ?? [];
  return compiled.get(key)(node, { ...systems, resource, rootResource: root, member });
}

/** check reports every invariant that is false; empty is not false. */
export function check(resource, report) {
  const bundles = new Map(); // by the resources in their entries
  walk(resource, (place) => {
    if (place.node.resourceType === 'Bundle') for (const e of place.node.entry ?? []) bundles.set(e.resource, place.node);
    const entries = bundles.get(place.root)?.entry ?? [];
    const isResource = place.node === place.resource;
    const lists = place.paths.map((p) => [p, byPath.get(p) ?? []]);
    if (!isResource) lists.push(['Element', everyElement]);
    for (const [path, invariants] of lists) {
      for (const i of invariants) {
        let result;
        try {
          result = evaluate(i, path, place, entries);
        } catch (e) {
          report({ engine: 'fhirpath', rule: i.key, severity: 'error', expression: place.expression, message: `cannot be evaluated: ${e.message}` });
          continue;
        }
        if (result.length === 1 && result[0] === false) {
          report({ engine: 'fhirpath', rule: i.key, severity: i.severity, expression: place.expression, message: i.human });
        }
      }
    }
  });
}
