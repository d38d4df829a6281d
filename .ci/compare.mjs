// Reads what .ci/compare has measured from standard input and writes a table:
// the least processor time of each engine, its ratio to ours, and its counts.
import { createInterface } from 'node:readline';

const engines = new Map(); // by name
const engine = (name) => {
  if (!engines.has(name)) engines.set(name, { ns: Infinity });
  return engines.get(name);
};

for await (const line of createInterface({ input: process.stdin })) {
  const bench = /^BenchmarkCorpus\/(\S+?)(?:-\d+)?\s+\d+\s+(.*)/.exec(line);
  const counts = /counts (\{.*\})/.exec(line);
  if (bench) {
    const value = (unit) => Number(new RegExp(`([\\d.e+]+) ${unit}`).exec(bench[2])?.[1]);
    const e = engine(bench[1]);
    e.ns = Math.min(e.ns, value('cpu-ns/document'));
  } else if (counts) {
    const { engine: name, ...rest } = JSON.parse(counts[1]);
    Object.assign(engine(name), rest);
  } else if (line.startsWith('{')) {
    const { engine: name, ...rest } = JSON.parse(line);
    Object.assign(engine(name), rest);
  } else if (/^(FAIL|---\s*FAIL|panic)/.test(line)) {
    process.stdout.write(line + '\n');
    process.exitCode = 1;
  }
}

const ours = engines.get('runsheet');
const rows = [['engine', 'µs a document', 'times ours', 'found', 'false alarms']];
for (const [name, e] of engines) {
  const of = (n, all) => (all === undefined ? '-' : `${n} of ${all}`);
  rows.push([name, (e.ns / 1000).toFixed(0), (e.ns / ours.ns).toFixed(2), of(e.found, e.invalid), of(e.falseAlarms, e.valid)]);
}
const widths = rows[0].map((_, i) => Math.max(...rows.map((r) => String(r[i]).length)));
for (const row of rows) {
  process.stdout.write(row.map((c, i) => (i === 0 ? String(c).padEnd(widths[i]) : String(c).padStart(widths[i]))).join('  ') + '\n');
}
