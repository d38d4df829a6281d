// Validates with @medplum/core and its R4 definitions. Each resource in a
// Bundle and each contained one is checked against its own definition too.
import { indexStructureDefinitionBundle, validateResource } from '@medplum/core';
import { bundles, walk } from './definitions.mjs';

for (const bundle of bundles) indexStructureDefinitionBundle(bundle);

export function check(resource, report) {
  walk(resource, ({ node, resource: within, expression }) => {
    if (node === within) validate(node, expression, report);
  });
}

function validate(resource, expression, report) {
  let issues;
  try {
    issues = validateResource(resource);
  } catch (e) {
    issues = e.outcome?.issue ?? [{ severity: 'error', code: 'exception', details: { text: String(e) } }];
  }
  for (const i of issues) {
    // It does not look an entry up, so it cannot know a urn:uuid's type.
    if (/^Invalid reference: got "urn:uuid:/.test(i.details?.text)) continue;
    const at = i.expression?.[0] ?? '';
    report({
      engine: 'medplum', rule: i.code, severity: i.severity === 'error' ? 'error' : 'warning',
      expression: at.replace(resource.resourceType, expression), message: i.details?.text ?? '',
    });
  }
}
