// node examples.mjs < LIST
//
// Reads paths of FHIR R4 JSON files from standard input, one a line, and
// writes a line of JSON for each invariant that npm fhirpath finds broken
// {"file", "key", "expression"}, for each invariant it could not evaluate
// ("message" as well), and for each distinct unit {"code", "valid"} by
// @lhncbc/ucum-lhc, the latter at the end.
import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import * as invariants from './invariants.mjs';
import { judge } from './units.mjs';
import { walk } from './definitions.mjs';

const units = new Set();
const write = (line) => process.stdout.write(JSON.stringify(line) + '\n');

for (const path of readFileSync(0, 'utf8').split('\n').filter(Boolean)) {
  const file = basename(path);
  try {
    const resource = JSON.parse(readFileSync(path, 'utf8'));
    walk(resource, ({ node }) => {
      if (node.system === 'http://unitsofmeasure.org' && typeof node.code === 'string') units.add(node.code);
    });
    invariants.check(resource, ({ rule, expression, message }) => {
      const failed = message.startsWith('cannot be evaluated') ? { message } : {};
      write({ file, key: rule, expression, ...failed });
    });
  } catch (e) {
    write({ file, key: '', expression: '', message: String(e) });
  }
}
for (const code of [...units].sort()) write({ code, valid: judge(code).valid });
