// node compare.mjs FOLDER CASES
//
// Sets validators of npm on one core beside ours: how long each takes from the
// bytes of a document to its verdict, on average of the Bundles in a folder, and
// what it finds of a list of cases. One line of JSON an engine: {"engine", "ns",
// "found", "invalid", "falseAlarms", "valid"}. The time is that of the
// processor, all threads together, which other programs on the machine hardly
// lengthen; the least of several rounds.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { createRequire } from 'node:module';
import { gunzipSync } from 'node:zlib';
import Ajv from 'ajv';
import fhir from 'fhir';
import { validateResource } from '@medplum/core';
import './structure.mjs'; // gives @medplum/core its definitions

const require = createRequire(import.meta.url);
const [folder, casesPath] = process.argv.slice(2);
const bundles = readdirSync(folder).sort().map((name) => readFileSync(join(folder, name)));
const cases = JSON.parse(readFileSync(casesPath, 'utf8')).filter((c) => !c.debatable);

/** ajv compiles the published schema, a validator for each type of resource. */
function ajv() {
  const lines = gunzipSync(readFileSync(new URL('../../validate/schema/r4.schema.gz', import.meta.url))).toString().split('\n');
  const engine = new Ajv({ strict: false, unicodeRegExp: false, allErrors: false, logger: false, meta: require('ajv/dist/refs/json-schema-draft-06.json') });
  const isOfItsType = new Map();
  engine.addKeyword({ keyword: 'byResourceType', validate: (_, value) => dispatch(value) });
  const base = 'http://hl7.org/fhir/json-schema/';
  const types = [];
  for (const line of lines.filter(Boolean)) {
    const [name, definition] = line.split('\t');
    engine.addSchema({ $id: base + name, ...JSON.parse(definition) });
    if (definition.includes(`"resourceType":{"const":"${name}"`)) types.push(name);
  }
  for (const type of types) isOfItsType.set(type, engine.getSchema(base + type));
  function dispatch(value) {
    const validate = isOfItsType.get(value?.resourceType);
    return validate !== undefined && validate(value);
  }
  return dispatch;
}

/** medplum checks the outermost resource and each in an entry. */
function medplum(resource) {
  const takes = (r) => {
    try {
      return validateResource(r).every((i) => i.severity !== 'error');
    } catch {
      return false;
    }
  };
  let valid = takes(resource);
  for (const entry of resource?.entry ?? []) if (entry.resource) valid = takes(entry.resource) && valid;
  return valid;
}

function npmFhir() {
  const engine = new fhir.Fhir();
  return (resource) => {
    try {
      return engine.validate(resource, { errorOnUnexpected: true }).valid;
    } catch {
      return false;
    }
  };
}

const engines = { 'Ajv, compiled per type': ajv(), '@medplum/core': medplum, 'npm fhir': npmFhir() };

function takes(isValid, text) {
  let value;
  try {
    value = JSON.parse(text);
  } catch {
    return false;
  }
  return isValid(value);
}

/** least is the shortest time of a document in rounds through all of them. */
function least(isValid) {
  let best = Infinity;
  for (let round = 0; round < 3; round++) {
    const start = process.cpuUsage();
    for (const bundle of bundles) takes(isValid, bundle.toString('utf8'));
    const { user, system } = process.cpuUsage(start);
    best = Math.min(best, (1000 * (user + system)) / bundles.length);
  }
  return Math.round(best);
}

for (const [engine, isValid] of Object.entries(engines)) {
  if (!takes(isValid, bundles[0])) process.stderr.write(`${engine} refuses the Bundle\n`);
  const counts = { found: 0, invalid: 0, falseAlarms: 0, valid: 0 };
  for (const c of cases) {
    const refused = !takes(isValid, c.text);
    counts[c.valid ? 'valid' : 'invalid']++;
    if (refused) counts[c.valid ? 'falseAlarms' : 'found']++;
  }
  const ns = least(isValid);
  process.stdout.write(JSON.stringify({ engine, ns, ...counts }) + '\n');
}
