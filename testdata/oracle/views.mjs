// Evaluates the views of a FHIR package over a folder of NDJSON with @medplum/core, an
// evaluator of SQL on FHIR v2 that is not ours, and prints their rows as JSON
// by the id of the view:
//
//   node views.mjs VIEWS FOLDER
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { evalSqlOnFhir } from '@medplum/core';

const [views, folder] = process.argv.slice(2);
const files = readdirSync(folder).filter((f) => f.endsWith('.ndjson')).map((f) => join(folder, f));
const resources = files.flatMap((f) => readFileSync(f, 'utf8').split('\n').filter(Boolean).map((line) => JSON.parse(line)));
const rows = {};
for (const file of readdirSync(views)) {
  const view = JSON.parse(readFileSync(join(views, file), 'utf8'));
  rows[view.id] = evalSqlOnFhir(view, resources);
}
process.stdout.write(JSON.stringify(rows));
