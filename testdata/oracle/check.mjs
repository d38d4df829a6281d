// node check.mjs FILE|FOLDER...
//
// Checks FHIR R4 JSON and NDJSON with engines that are not ours and writes
// one line of JSON per disagreement to standard output, a summary to standard
// error. A file manifest.json is no FHIR and is left out. Exit status: 0 no
// error, 1 an error, 2 wrong use or nothing to check.
import { readFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import * as invariants from './invariants.mjs';
import * as structure from './structure.mjs';
import * as units from './units.mjs';
import { walk } from './definitions.mjs';

const engines = [structure, invariants, units];
const counts = { files: 0, resources: 0, error: 0, warning: 0 };

function* filesUnder(path) {
  if (!statSync(path).isDirectory()) {
    yield path;
    return;
  }
  for (const name of readdirSync(path).sort()) {
    const inner = join(path, name);
    if (statSync(inner).isDirectory()) yield* filesUnder(inner);
    else if (/\.(json|ndjson)$/.test(name) && name !== 'manifest.json') yield inner;
  }
}

function* resourcesIn(file) {
  const text = readFileSync(file, 'utf8');
  if (!file.endsWith('.ndjson')) {
    yield [file, text];
    return;
  }
  for (const [i, line] of text.split('\n').entries()) if (line.trim()) yield [`${file}:${i + 1}`, line];
}

function checkOne(file, text) {
  const report = (finding) => {
    counts[finding.severity]++;
    process.stdout.write(JSON.stringify({ file, ...finding }) + '\n');
  };
  try {
    const resource = JSON.parse(text);
    walk(resource, ({ node, resource: within }) => { if (node === within) counts.resources++; });
    for (const engine of engines) engine.check(resource, report);
  } catch (e) {
    report({ engine: 'reader', rule: 'readable', severity: 'error', expression: '', message: e.message });
  }
}

const paths = process.argv.slice(2);
for (const path of paths) {
  for (const file of filesUnder(path)) {
    counts.files++;
    for (const [where, text] of resourcesIn(file)) checkOne(where, text);
  }
}
process.stderr.write(`${counts.files} files, ${counts.resources} resources: ${counts.error} errors, ${counts.warning} warnings\n`);
process.exitCode = counts.files === 0 ? 2 : counts.error > 0 ? 1 : 0;
