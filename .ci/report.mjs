// Reads the events of `go test -json` from standard input and writes what
// plain `go test` would: the output of what failed, then one line a package.
// Tests that skipped themselves count as failures, save those whose name
// matches the first argument, a regular expression. Exit status 1 if anything
// failed or was skipped.
import { createInterface } from 'node:readline';

const allowed = process.argv[2] ? new RegExp(process.argv[2]) : /^$/;
const outputs = new Map(); // by package and test, what it printed
const verdicts = []; // one line a package
const skipped = [];
let failed = false;

for await (const line of createInterface({ input: process.stdin })) {
  if (line.startsWith('{')) take(JSON.parse(line));
  else process.stdout.write(line + '\n');
}

function take({ Action, Package, Test, Output }) {
  const key = `${Package}\t${Test ?? ''}`;
  switch (Action) {
    case 'build-output':
      process.stdout.write(Output);
      break;
    case 'build-fail':
      failed = true;
      break;
    case 'output':
      if (!Test && /^(ok|FAIL|---|\?) ?\s*\t/.test(Output)) verdicts.push(Output);
      else if (!/^=== /.test(Output)) outputs.set(key, (outputs.get(key) ?? '') + Output);
      break;
    case 'skip':
      if (Test && !allowed.test(Test)) skipped.push(`${Package} ${Test}`);
      break;
    case 'fail':
      failed = true;
      process.stdout.write(outputs.get(key) ?? '');
  }
  if (Test && ['pass', 'fail', 'skip'].includes(Action)) outputs.delete(key);
}

if (skipped.length > 0) {
  process.stdout.write(`skipped, though they should have run:\n${skipped.map((s) => `  ${s}\n`).join('')}`);
}
process.stdout.write(verdicts.join(''));
process.exitCode = failed || skipped.length > 0 ? 1 : 0;
