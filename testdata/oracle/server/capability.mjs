// What the server says of itself, by its switches.
const types = ['Device', 'Patient', 'Procedure', 'Observation', 'MedicationAdministration', 'DiagnosticReport', 'DocumentReference', 'Provenance'];

export function capability(switches) {
  const interactions = ['read', 'create', 'update', 'search-type'];
  return {
    resourceType: 'CapabilityStatement', status: 'active', date: '2025-01-01', kind: 'instance',
    fhirVersion: switches.fhirVersion, format: ['json'],
    rest: [{
      mode: 'server',
      interaction: [
        ...(switches.transactions ? [{ code: 'transaction' }] : []),
        ...(switches.batch ? [{ code: 'batch' }] : []),
      ],
      resource: types.map((type) => ({
        type,
        interaction: interactions.map((code) => ({ code })),
        versioning: 'versioned-update',
        conditionalCreate: switches.declareConditionalCreate,
        updateCreate: switches.updateCreate,
        searchParam: [{ name: type === 'Provenance' ? 'target' : 'identifier', type: type === 'Provenance' ? 'reference' : 'token' }],
      })),
    }],
  };
}
