// A FHIR R4 server in memory, for tests: the router and repository of
// @medplum/fhir-router over HTTP, on the loopback interface only, validating,
// with switches for what goes wrong at real ones.
//
//   node server.mjs        prints the base URL, ends when standard input does
//
// POST /-/reset {switches}   empties the store and sets the switches
// POST /-/faults [fault]     what is to go wrong: {on, kind}, on = the number of
//                            the write from now, kind = see fault()
// POST /-/save               keeps a copy of everything
// POST /-/restore            goes back to that copy
// POST /-/delete [reference] deletes resources, as someone at the clinic would
// GET  /-/state              resources and requests so far
import { createServer } from 'node:http';
import { OperationOutcomeError, badRequest, getStatus, isOk } from '@medplum/core';
import { FhirRouter } from '@medplum/fhir-router';
import { capability } from './capability.mjs';
import { Store } from './store.mjs';
import { Tokens } from './tokens.mjs';

const usual = {
  fhirVersion: '4.0.1',
  metadata: true, // GET metadata answers
  transactions: true,
  batch: true,
  updatesInTransactions: true,
  honourIfMatchInBundles: true,
  declareConditionalCreate: true,
  honourIfNoneExist: true,
  updateCreate: true,
  search: true, // searching by identifier works
  ignoreUnknownSearch: false, // a search answers with everything
  missed: 0, // so many searches in a batch find nothing, as where an index lags
  busy: undefined, // {type, entry, status, times}: so often one entry of such a Bundle is refused and the rest done
  refuse: undefined, // {match, status}: resources with this text in their JSON are refused, one by one and in a batch
  warn: false, // every entry of a batch is answered with a warning too
  chaining: true,
  maxEntries: 0, // 0 for any number
  libraryLimit: false, // the library's own rule: 8 entries where there is a condition
  tokens: undefined,
  mangle: {}, // what is done to a resource before it is stored; see store.mjs
};

const router = new FhirRouter();
const store = new Store();
const tokens = new Tokens();
let switches = { ...usual };
let faults = [];
let writes = 0;
let requests = [];

const server = createServer((request, response) => {
  const chunks = [];
  request.on('data', (chunk) => chunks.push(chunk));
  request.on('end', () => {
    const body = Buffer.concat(chunks).toString('utf8');
    serve(request, body, response).catch((error) => answer(response, 500, outcome('exception', String(error))));
  });
});

// One request at a time, as a database would order them.
let queue = Promise.resolve();

async function serve(request, body, response) {
  const url = new URL(request.url, 'http://127.0.0.1');
  if (url.pathname.startsWith('/-/')) return control(url.pathname, body, response);
  if (url.pathname === '/token') return token(request, body, response);
  const path = url.pathname.replace(/^\/fhir\/?/, '');
  if (path === '.well-known/smart-configuration') {
    return answer(response, 200, { token_endpoint: `${base()}/../token`.replace('/fhir/..', ''), capabilities: ['client-confidential-asymmetric', 'permission-v2'] });
  }
  const done = queue.then(() => fhir(request, path, url.search, body, response));
  queue = done.catch(() => {});
  return done;
}

async function fhir(request, path, query, body, response) {
  const reads = path === '' && !/"method":"(POST|PUT)"/.test(body); // a batch of reads
  const write = (request.method === 'POST' || request.method === 'PUT') && !path.endsWith('_search') && !reads;
  const kind = write ? fault() : undefined;
  const record = { method: request.method, url: path + query, write, kind, bytes: body.length, condition: request.headers['if-none-exist'] };
  requests.push(record);
  const say = (status, resource, headers) => {
    record.status = status;
    answer(response, status, resource, headers);
  };
  if (path === 'metadata') return switches.metadata ? say(200, capability(switches)) : say(404, outcome('not-found'));
  if (!tokens.accepts(request.headers.authorization)) return say(401, outcome('login'));
  switch (kind) {
    case 'cut-before': return response.socket.destroy();
    case '401': return say(401, outcome('expired'));
    case '403': return say(403, outcome('forbidden'));
    case '412': return say(412, outcome('multiple-matches'));
    case '409': return say(409, outcome('conflict'));
    case '422': return say(422, outcome('processing', 'the value 12345 of the patient'));
    case '429': return say(429, outcome('throttled'), { 'Retry-After': '1' });
    case '500-before': return say(500, outcome('exception'));
    case '503': return say(503, outcome('transient'), { 'Retry-After': '0' });
  }
  if (kind === 'race') await race(JSON.parse(body));
  const [status, resource, headers] = await handle(request, path, query, body);
  if (kind === 'cut-after') return response.socket.destroy();
  if (kind === '500-after') return say(500, outcome('exception'));
  return say(status, resource, headers);
}

/** race lets someone else change what is about to be updated, just before. */
async function race({ entry }) {
  const { url } = entry.find((e) => e.request.method === 'PUT').request;
  await store.updateResource({ ...(await store.readResource(...url.split('/'))), language: 'en' });
}

/** fault is what is to go wrong with this write. */
function fault() {
  writes++;
  return faults.find((f) => f.on === writes || f.on === 'every')?.kind;
}

async function handle(request, path, query, body) {
  try {
    return await route(request, path, query, body);
  } catch (error) {
    const result = error instanceof OperationOutcomeError ? error.outcome : badRequest(String(error));
    return [getStatus(result), result];
  }
}

async function route(request, path, query, body) {
  if (query && request.method === 'GET' || path.endsWith('_search')) {
    if (!switches.search) return [501, outcome('not-supported')];
    if (switches.ignoreUnknownSearch) query = '';
  }
  let content;
  if (path.endsWith('_search')) {
    content = Object.fromEntries(new URLSearchParams(body));
  } else if (body) {
    if (!request.headers['content-type']?.startsWith('application/fhir+json')) return [415, outcome('not-supported')];
    content = JSON.parse(body);
  }
  if (path === '' && request.method === 'POST') return bundle(content);
  if (content && refuses(content)) return [switches.refuse.status, outcome('processing', 'the value 12345 of the patient')];
  const headers = { ...request.headers };
  if (!switches.honourIfNoneExist) delete headers['if-none-exist'];
  if (request.method === 'PUT' && !switches.updateCreate) await store.readResource(...path.split('/'));
  const [result, resource] = await router.handleRequest(
    { method: request.method, url: path + query, pathname: '', body: content, params: {}, query: {}, headers }, store);
  const status = getStatus(result);
  if (!isOk(result)) return [status, result];
  return [status, resource, resource?.meta?.versionId ? at(resource) : {}];
}

const at = (resource) => ({
  ETag: `W/"${resource.meta.versionId}"`,
  Location: `${base()}/${resource.resourceType}/${resource.id}/_history/${resource.meta.versionId}`,
});

const refuses = (resource) => switches.refuse && JSON.stringify(resource).includes(switches.refuse.match);

/** bundle does a transaction whole or not at all, and a batch entry by entry. */
async function bundle(content) {
  const transaction = content.type === 'transaction';
  if (transaction && !switches.transactions || !transaction && !switches.batch) return [400, outcome('not-supported')];
  if (switches.maxEntries && content.entry.length > switches.maxEntries) return [413, outcome('too-costly')];
  if (!transaction && content.entry.some((e) => /"reference":"urn:uuid:/.test(JSON.stringify(e.resource)))) {
    return [400, outcome('invalid', 'a batch entry refers to another')]; // R4 3.1.0.11.1
  }
  if (!switches.honourIfNoneExist) for (const e of content.entry) delete e.request.ifNoneExist;
  if (transaction && !switches.updatesInTransactions && content.entry.some((e) => e.request.method === 'PUT')) return [400, outcome('not-supported')];
  if (!switches.honourIfMatchInBundles) for (const e of content.entry) delete e.request.ifMatch;
  const searches = content.entry.filter(({ request }) => request.method === 'GET' && request.url.includes('?'));
  if (searches.length && !switches.search) return [501, outcome('not-supported')];
  if (switches.ignoreUnknownSearch) for (const { request } of searches) request.url = request.url.replace(/\?.*/, '');
  for (const { request } of searches.slice(0, switches.missed)) request.url = request.url.replace(/=.*/, '=none|none');
  switches.missed = Math.max(0, switches.missed - searches.length);
  const { busy } = switches;
  const refused = busy?.times > 0 && busy.type === content.type && busy.entry < content.entry.length && content.entry.splice(busy.entry, 1);
  if (refused) busy.times--;
  const order = content.entry;
  if (!transaction) content.entry = order.filter((e) => !refuses(e.resource ?? {}));
  const config = { transactions: switches.libraryLimit };
  const work = async () => {
    if (transaction) await resolveConditionalReferences(content);
    const [result, reply] = await router.handleRequest(
      { method: 'POST', url: '', pathname: '', body: content, params: {}, query: {}, headers: {}, config }, store);
    if (!isOk(result)) throw new OperationOutcomeError(result);
    const failed = reply.entry.find((e) => !/^2/.test(e.response.status));
    if (transaction && failed) throw new OperationOutcomeError(failed.response.outcome);
    return reply;
  };
  const none = { resourceType: 'Bundle', type: `${content.type}-response`, entry: [] };
  const reply = !content.entry.length ? none : transaction ? await store.atomically(work) : await work();
  reply.entry = reply.entry.map((e, i) => (content.entry[i].request.method === 'GET' ? e : minimal(e)));
  if (switches.warn) for (const e of reply.entry) e.response.outcome = { resourceType: 'OperationOutcome', issue: [{ severity: 'warning', code: 'not-supported' }] };
  const replies = reply.entry;
  if (!transaction) {
    reply.entry = order.map((e) => (refuses(e.resource ?? {})
      ? { response: { status: String(switches.refuse.status), outcome: outcome('processing', 'the value 12345 of the patient') } }
      : replies.shift()));
  }
  if (refused) reply.entry.splice(busy.entry, 0, { response: { status: String(busy.status), outcome: outcome('transient') } });
  return [200, reply];
}

function minimal({ response, resource }) {
  if (!/^2/.test(response.status)) return { response };
  const { ETag, Location } = at(resource);
  return { response: { status: response.status, location: Location, etag: ETag } };
}

/** R4 3.1.0.11.2: a conditional reference must match one resource, or the whole transaction fails. */
async function resolveConditionalReferences(node) {
  if (Array.isArray(node)) return Promise.all(node.map(resolveConditionalReferences));
  if (node === null || typeof node !== 'object') return undefined;
  if (/^Patient\?identifier=/.test(node.reference)) {
    const value = decodeURIComponent(node.reference.replace(/^Patient\?identifier=/, ''));
    const found = await store.search({ resourceType: 'Patient', filters: [{ code: 'identifier', operator: 'eq', value }] });
    if (found.total !== 1) {
      throw new OperationOutcomeError({ resourceType: 'OperationOutcome', id: 'precondition-failed', issue: [{ severity: 'error', code: 'not-found' }] });
    }
    node.reference = `Patient/${found.entry[0].resource.id}`;
  }
  return Promise.all(Object.values(node).map(resolveConditionalReferences));
}

async function control(path, body, response) {
  if (path === '/-/reset') {
    store.clear();
    [faults, writes, requests] = [[], 0, []];
    const { patients = [], ...changed } = JSON.parse(body);
    switches = { ...usual, ...changed };
    [store.chaining, store.mangle] = [switches.chaining, switches.mangle];
    tokens.configure(switches.tokens);
    for (const p of patients) await store.createResource(p);
  } else if (path === '/-/switch') {
    switches = { ...switches, ...JSON.parse(body) };
    [store.chaining, store.mangle] = [switches.chaining, switches.mangle];
  } else if (path === '/-/faults') {
    [faults, writes, requests] = [JSON.parse(body), 0, []];
  } else if (path === '/-/edit') { // as someone at the clinic would
    await store.updateResource(JSON.parse(body));
  } else if (path === '/-/delete') {
    for (const reference of JSON.parse(body)) await store.deleteResource(...reference.split('/'));
  }
  if (path === '/-/restore') await store.restore();
  const resources = path === '/-/state' || path === '/-/save' ? await everything() : [];
  if (path === '/-/save') store.save(resources);
  answer(response, 200, { resources, requests, tokens: tokens.given });
}

async function everything() {
  const resources = [];
  for (const resourceType of ['Patient', 'Device', 'Procedure', 'Observation', 'MedicationAdministration', 'DiagnosticReport', 'DocumentReference', 'Provenance']) {
    const found = await store.search({ resourceType, count: 1e9 });
    resources.push(...(found.entry ?? []).map((e) => e.resource));
  }
  return resources;
}

function token(request, body, response) {
  const [status, content] = tokens.give(new URLSearchParams(body), `${base().replace('/fhir', '')}/token`);
  answer(response, status, content);
}

const outcome = (code, diagnostics) => ({ resourceType: 'OperationOutcome', issue: [{ severity: 'error', code, diagnostics }] });

function answer(response, status, content, headers = {}) {
  if (response.destroyed || response.headersSent) return;
  response.writeHead(status, { 'Content-Type': 'application/fhir+json', ...headers });
  response.end(JSON.stringify(content));
}

const base = () => `http://127.0.0.1:${server.address().port}/fhir`;

server.keepAliveTimeout = 30000;
server.listen(0, '127.0.0.1', () => console.log(base()));
process.stdin.resume();
process.stdin.on('end', () => process.exit(0));
