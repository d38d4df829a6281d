// Compiles the FSH of this folder, with snapshots, into ../package.
//
//   node compile.mjs           writes ../package
//   node compile.mjs --check   fails if ../package differs from what it would write
//
// It calls SUSHI's own steps in SUSHI's order, but gives them the core
// definitions from npm (core.mjs) and never asks the network for anything.
// An error or a warning of SUSHI's is a failure.
import { existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { core, packageJSON } from './core.mjs';
import { invalidExamples } from './invalid.mjs';
import { narrated, pack } from './ship.mjs';

const require = createRequire(import.meta.url);
const { fhirdefs, sushiExport, utils } = require('fsh-sushi');
const { IGExporter, loadPredefinedResources } = require('fsh-sushi/dist/ig');
const { InMemoryVirtualPackage } = require('fhir-package-loader');

const here = dirname(fileURLToPath(import.meta.url));
const target = join(here, '..', 'package');

/** compile runs SUSHI and returns its resources. */
async function compile() {
  for (const transport of utils.logger.transports) transport.level = 'warn';
  const config = utils.readConfig(here);
  const tank = utils.fillTank(utils.getRawFSHes(join(here, 'input', 'fsh')), config);
  tank.checkDuplicateNameEntities();
  const defs = await fhirdefs.createFHIRDefinitions();
  await defs.loadVirtualPackage(new InMemoryVirtualPackage(packageJSON, core(), { log: utils.logMessage }));
  await loadPredefinedResources(defs, join(here, 'input'), here, config.parameters);
  defs.optimize();
  const out = mkdtempSync(join(tmpdir(), 'runsheet-fsh-'));
  try {
    const made = sushiExport.exportFHIR(tank, defs);
    utils.writeFHIRResources(out, made, defs, true);
    new IGExporter(made, defs, here).export(out);
    const folder = join(out, 'fsh-generated', 'resources');
    const resources = readdirSync(folder).filter((f) => f.endsWith('.json')).sort()
      .map((f) => JSON.parse(readFileSync(join(folder, f), 'utf8')));
    return { resources, errors: utils.stats.numError, warnings: utils.stats.numWarn };
  } finally {
    rmSync(out, { recursive: true });
  }
}

/** existing lists the files of the package as committed. */
function existing(folder, prefix = '') {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { withFileTypes: true }).flatMap((e) =>
    e.isDirectory() ? existing(join(folder, e.name), `${prefix}${e.name}/`) : [`${prefix}${e.name}`]);
}

function check(files) {
  const have = existing(target);
  const wrong = [
    ...have.filter((f) => !files.has(f)).map((f) => `${f}: no longer made`),
    ...[...files].filter(([f]) => !have.includes(f)).map(([f]) => `${f}: missing`),
    ...[...files].filter(([f, text]) => have.includes(f) && readFileSync(join(target, f), 'utf8') !== text).map(([f]) => `${f}: differs`),
  ];
  for (const line of wrong) console.error(line);
  if (wrong.length > 0) {
    console.error('the package does not agree with the FSH: run node profiles/fsh/compile.mjs');
    process.exitCode = 1;
  }
}

function write(files) {
  rmSync(target, { recursive: true, force: true });
  for (const [name, text] of files) {
    mkdirSync(dirname(join(target, name)), { recursive: true });
    writeFileSync(join(target, name), text);
  }
}

const { resources, errors, warnings } = await compile();
console.error(`SUSHI ${require('fsh-sushi/package.json').version}: ${resources.length} resources, ${errors} errors, ${warnings} warnings`);
if (errors + warnings > 0) {
  process.exitCode = 1;
} else {
  const told = narrated(resources);
  const folder = join(here, 'input', 'views');
  const views = readdirSync(folder).sort().map((f) => JSON.parse(readFileSync(join(folder, f), 'utf8')));
  const files = pack(told, invalidExamples(told), views);
  if (process.argv.includes('--check')) check(files);
  else write(files);
}
