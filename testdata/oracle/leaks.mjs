// Searches a pseudonymous copy of an export for what the export says, in a
// program that shares nothing with the one that made the copy:
//
//   node leaks.mjs SOURCE COPY [TEXT...]
//
// It prints as JSON the hits, how many texts it searched for, and the shift of
// the dates in days. A TEXT is searched for too.
import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

const [source, copy, ...texts] = process.argv.slice(2);
const read = (dir) => Object.fromEntries(readdirSync(dir).map((f) => [f, readFileSync(join(dir, f), 'utf8')]));
const [from, to] = [read(source), read(copy)];
const hits = new Set();

// Words of a person or names of things, by the member that they stand in.
const secretIn = new Set(['value', 'source', 'fullUrl', 'id', 'reference', 'div', 'data', 'hash', 'title', 'lotNumber', 'serialNumber', 'name',
  'ifNoneExist', 'valueString', 'sha256', 'file', 'session', 'timeZone', 'request', 'patient', 'tags', 'claimProfiles']);
const textBelow = new Set(['note', 'statusReason', 'valueCodeableConcept', 'performer', 'bodySite', 'usedCode', 'usedReference', 'complication',
  'medicationCodeableConcept', 'deviceName', 'dosage', 'method']);
const sameEverywhere = /^(runsheet|self|none|target:Procedure\.identifier|Haemodialysis machine|Body weight scales|Blood pressure monitor|Home haemodialysis: report for the visit|https?:\/\/(hl7\.org|terminology\.hl7\.org|loinc\.org|snomed\.info|unitsofmeasure\.org).*|urn:ietf:rfc:3986|(session|weeks|report)|[A-Z][A-Za-z]+(\.ndjson)?|into the dialysis circuit|by mouth|Self-administered treatment)$/; // fixed texts of any record
const secrets = new Set(texts);
const add = (text) => {
  text = text.replace(/<[^>]*>/g, ''); // of narratives
  if (text.length < 4 || sameEverywhere.test(text) || /^[0-9.]+$/.test(text) || /^\d{4}-\d\d/.test(text)) return;
  secrets.add(text);
  for (const id of text.match(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|[0-9a-f]{64}/gi) ?? []) secrets.add(id);
  for (const part of text.split(/[|<>=?&]|urn:uuid:/)) if (part.length >= 4 && !sameEverywhere.test(part) && /[A-Z0-9 ]/.test(part) && part !== text) add(part);
};
const gather = (value, member, below) => {
  if (typeof value === 'string') {
    if (member !== 'rules' && (secretIn.has(member) || ((member === 'text' || member === 'display') && below))) add(value);
  } else if (value && typeof value === 'object') {
    for (const [key, v] of Object.entries(value)) {
      const name = Array.isArray(value) ? member : key;
      if (key !== 'coding' && key !== 'valueQuantity') gather(v, name, below || textBelow.has(key));
    }
  }
};
const documents = (name, text) => (name.endsWith('.json') ? [text] : name.endsWith('ndjson') ? text.split('\n').filter(Boolean) : []).map((t) => JSON.parse(t));
for (const [name, text] of Object.entries(from)) {
  if (name !== 'manifest.json') add(name);
  for (const d of documents(name, text)) gather(d, '', false);
}
// The fixed texts of a record may be in both.
const fixed = new Set();
const displays = (v) => {
  if (!v || typeof v !== 'object') return;
  for (const c of v.coding ?? []) fixed.add(c.display), fixed.add(c.code);
  for (const x of Object.values(v)) displays(x);
};
for (const [name, text] of Object.entries(from)) for (const d of documents(name, text)) displays(d);
// UUIDs and digests are looked up among those of the copy, all else is searched
// for in each byte of it.
const NAME = /[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|[0-9a-f]{64}/gi;
const all = Object.entries(to).map(([name, text]) => `${name}\n${text}`).join('\n');
const names = new Set((all.match(NAME) ?? []).map((n) => n.toLowerCase()));
for (const secret of secrets) {
  if (fixed.has(secret)) continue;
  const within = secret.match(NAME);
  if (within) {
    for (const name of within) if (names.has(name.toLowerCase())) hits.add(name);
    continue;
  }
  for (const form of new Set([secret, JSON.stringify(secret).slice(1, -1), encodeURIComponent(secret)])) if (all.includes(form)) hits.add(secret);
}

// All dates of the export that the copy has are shifted by the same days, and
// stand behind the same time of day and offset.
const DATE = /^(\d{4}-\d\d-\d\d)(T.*)?$/;
const dated = (value, path, into) => {
  if (typeof value === 'string') {
    const m = DATE.exec(value);
    if (m) (into[path] ??= []).push([Date.parse(m[1] + 'T00:00:00Z') / 864e5, m[2] ?? '', Date.parse(value)]);
  } else if (value && typeof value === 'object') {
    for (const [key, v] of Object.entries(value)) dated(v, Array.isArray(value) ? path : `${path}.${key}`, into);
  }
};
const records = (all) => {
  const out = {};
  for (const [name, text] of Object.entries(all)) {
    if (name === 'manifest.json') continue;
    for (const d of documents(name, text)) {
      for (const r of d.resourceType === 'Bundle' ? d.entry.map((e) => e.resource) : [d]) dated(r, r.resourceType, out);
    }
  }
  for (const list of Object.values(out)) list.sort((a, b) => a[2] - b[2]);
  return out;
};
const shifts = new Set();
const [had, has] = [records(from), records(to)];
for (const [path, list] of Object.entries(has)) {
  if (list.length !== had[path].length) { hits.add(`${path}: ${had[path].length} dates became ${list.length}`); continue; }
  list.forEach(([day, time, instant], i) => {
    shifts.add(day - had[path][i][0]);
    if (time !== had[path][i][1] || (instant - had[path][i][2]) / 864e5 !== day - had[path][i][0]) hits.add(`${path}: another time of day`);
  });
}
process.stdout.write(JSON.stringify({ hits: [...hits].sort(), searched: secrets.size, shifts: [...shifts] }));
