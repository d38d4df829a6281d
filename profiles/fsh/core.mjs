// The package hl7.fhir.r4.core 4.0.1, which is not on npm, laid out in memory
// from the same definitions in hl7.fhir.r4.examples 4.0.1 (CC0), which is.
// Nothing is downloaded.
import { readFileSync, readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

const folder = dirname(createRequire(import.meta.url).resolve('hl7.fhir.r4.examples/package.json'));
const definition = /^(StructureDefinition|ValueSet|CodeSystem|SearchParameter)-.*\.json$/;
const official = /^http:\/\/(hl7\.org\/fhir|terminology\.hl7\.org|unitsofmeasure\.org|snomed\.info|loinc\.org)/;

export const packageJSON = {
  name: 'hl7.fhir.r4.core', version: '4.0.1', canonical: 'http://hl7.org/fhir', fhirVersions: ['4.0.1'], type: 'Core',
};

/** core returns the resources of the package by file name. */
export function core() {
  const resources = new Map();
  for (const file of readdirSync(folder).filter((f) => definition.test(f)).sort()) {
    const resource = JSON.parse(readFileSync(join(folder, file), 'utf8'));
    if (official.test(resource.url ?? '')) resources.set(file, resource);
  }
  return resources;
}
