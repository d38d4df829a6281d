// Reads a batch of HL7 v2 messages with @medplum/core and writes one JSON object
// a line for each segment: the id of its message, its name, and its fields as
// components, unescaped. Subcomponents stay as written. BHS and BTS are no part
// of a message, so they are read here.
import { readFileSync } from 'node:fs';
import { Hl7Message } from '@medplum/core';

const lines = readFileSync(0, 'utf8').split('\r');
if (!lines[0].startsWith('BHS|^~\\&|') || lines.pop() !== '') throw new Error('this is no batch');
const trailer = lines.pop().split('|');
const messages = [];
for (const line of lines.slice(1)) {
  if (line.startsWith('MSH')) messages.push([]);
  messages.at(-1).push(line);
}
if (trailer[0] !== 'BTS' || Number(trailer[1]) !== messages.length) throw new Error(`BTS counts ${trailer[1]} of ${messages.length} messages`);

const sequences = { F: '|', S: '^', T: '&', R: '~', E: '\\', '.br': '\n' };

function unescape(text) {
  return text.replace(/\\([^\\]*)\\/g, (whole, name) => {
    if (name in sequences) return sequences[name];
    if (/^X[0-9A-F]{2}$/.test(name)) return String.fromCharCode(parseInt(name.slice(1), 16));
    throw new Error(`unknown escape sequence ${whole}`);
  });
}

for (const text of messages) {
  const message = Hl7Message.parse(text.join('\r'));
  const id = message.header.getComponent(10, 1);
  for (const segment of message.segments) {
    const fields = segment.fields.map((field, i) => {
      if (segment.name === 'MSH' && i < 2) return [field.toString()];
      if (field.components.length > 1) throw new Error(`${segment.name}-${i} repeats`);
      return field.components[0].map((part) => part.split('&').map(unescape).join('&'));
    });
    console.log(JSON.stringify({ id, name: segment.name, fields }));
  }
}
