export function invalidExamples() { return []; }
