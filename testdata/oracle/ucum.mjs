// Reads one unit per line from standard input and writes, for each, a line
// {"code", "valid", "magnitude", "dimension", "special", "arbitrary"}.
import { readFileSync } from 'node:fs';
import { judge } from './units.mjs';

const lines = readFileSync(0, 'utf8').split('\n');
if (lines.at(-1) === '') lines.pop();
for (const code of lines) process.stdout.write(JSON.stringify(judge(code)) + '\n');
