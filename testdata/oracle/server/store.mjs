// The resources of the in-memory server: @medplum/fhir-router's repository,
// with what a server over it needs: an index on identifiers (without it a
// month takes a scan for each conditional create), validation before storing,
// and all-or-nothing transactions.
import { OperationOutcomeError, badRequest, indexSearchParameterBundle, indexStructureDefinitionBundle, validateResource } from '@medplum/core';
import { MemoryRepository } from '@medplum/fhir-router';
import { bundles, load } from '../definitions.mjs';

for (const bundle of bundles) indexStructureDefinitionBundle(bundle);
indexSearchParameterBundle(load('search-parameters.json'));

export class Store extends MemoryRepository {
  #byIdentifier = new Map(); // "Type system|value" to a set of ids
  #undo; // what to take back, while a transaction runs
  chaining = true;
  mangle = {}; // what is done to a resource before it is stored: {round: digits, drop: [element], status}
  #saved = [];

  async createResource(resource, options) {
    validateResource(resource); // throws an OperationOutcomeError
    const key = resource.id ? `${resource.resourceType}/${resource.id}` : undefined;
    const before = key && (await this.readResource(resource.resourceType, resource.id).catch(() => undefined));
    const version = before ? Number(before.meta.versionId) + 1 : 1;
    const meta = { ...resource.meta, versionId: String(version), lastUpdated: new Date().toISOString() };
    for (const token of before ? tokens(before) : []) this.#byIdentifier.get(token)?.delete(before.id);
    const stored = await super.createResource(mangled({ ...resource, meta }, this.mangle), options);
    for (const token of tokens(stored)) {
      if (!this.#byIdentifier.has(token)) this.#byIdentifier.set(token, new Set());
      this.#byIdentifier.get(token).add(stored.id);
    }
    this.#undo?.push({ stored, before });
    return stored;
  }

  /** search answers identifier=system|value from the index; the rest is the library's. */
  async search(request) {
    const [filter, ...more] = request.filters ?? [];
    if (filter?.code === 'identifier' && filter.operator === 'eq' && more.length === 0 && filter.value.includes('|')) {
      const ids = [...(this.#byIdentifier.get(`${request.resourceType} ${filter.value}`) ?? [])];
      const entry = [];
      for (const id of ids.slice(0, request.count ?? 20)) {
        entry.push({ resource: await this.readResource(request.resourceType, id) });
      }
      return { resourceType: 'Bundle', type: 'searchset', total: ids.length, entry: entry.length ? entry : undefined };
    }
    const chain = (request.filters ?? []).find((f) => f.code.includes('.'));
    return chain ? this.#chained(request, chain) : super.search(request);
  }

  /** #chained answers target:Type.identifier=system|value, the one chain we send. */
  async #chained(request, chain) {
    const type = /^target:(\w+)\.identifier$/.exec(chain.code)?.[1];
    if (!this.chaining || !type) throw new OperationOutcomeError(badRequest(`Unknown search parameter: ${chain.code}`));
    const ids = this.#byIdentifier.get(`${type} ${chain.value}`) ?? [];
    const rest = { ...request, count: 1000, filters: request.filters.filter((f) => f !== chain) };
    const found = await super.search(rest);
    const references = new Set([...ids].map((id) => `${type}/${id}`));
    const entry = (found.entry ?? []).filter(({ resource }) => resource.target.some((t) => references.has(t.reference)));
    return { ...found, total: entry.length, entry: entry.length ? entry : undefined };
  }

  /** save keeps a copy of everything, and restore goes back to it, as from a backup. */
  save(resources) {
    this.#saved = structuredClone(resources);
  }

  async restore() {
    this.clear();
    for (const resource of this.#saved) await this.createResource(resource);
  }

  /** atomically takes back everything the work has stored when it fails. */
  async atomically(work) {
    this.#undo = [];
    try {
      return await work();
    } catch (error) {
      for (const { stored, before } of this.#undo.reverse()) await this.#takeBack(stored, before);
      throw error;
    } finally {
      this.#undo = undefined;
    }
  }

  /** deleteResource deletes a resource, and no search finds it any more. */
  async deleteResource(resourceType, id) {
    const stored = await this.readResource(resourceType, id);
    for (const token of tokens(stored)) this.#byIdentifier.get(token)?.delete(id);
    return super.deleteResource(resourceType, id);
  }

  async #takeBack(stored, before) {
    await this.deleteResource(stored.resourceType, stored.id);
    if (!before) return;
    await super.createResource(before);
    for (const token of tokens(before)) this.#byIdentifier.get(token).add(before.id);
  }

  clear() {
    super.clear();
    this.#byIdentifier.clear();
  }
}

function tokens(resource) {
  return [resource.identifier ?? []].flat().map((i) => `${resource.resourceType} ${i.system ?? ''}|${i.value}`);
}

/** mangled is what a careless server makes of a resource of ours. */
function mangled(resource, { round, drop = [], status }) {
  if (resource.resourceType === 'Patient') return resource;
  const walk = (node) => {
    if (Array.isArray(node)) return node.map(walk);
    if (typeof node === 'number') return round === undefined ? node : Number(node.toFixed(round));
    if (node === null || typeof node !== 'object') return node;
    return Object.fromEntries(Object.entries(node).filter(([key]) => !drop.includes(key)).map(([key, value]) => [key, walk(value)]));
  };
  const out = walk(resource);
  return status && out.status ? { ...out, status } : out;
}
