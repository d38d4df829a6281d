// UCUM by @lhncbc/ucum-lhc. It trims its input, so a space is refused here.
import ucum from '@lhncbc/ucum-lhc';
import { walk } from './definitions.mjs';

const utils = ucum.UcumLhcUtils.getInstance();

/** judge says whether a code is valid, and its size and dimension if it is. */
export function judge(code) {
  const errors = console.log;
  console.log = () => {}; // the library prints what it also returns
  try {
    const { status, unit } = spaceAround(code) ? { status: 'invalid' } : validate(code);
    return { code, valid: status === 'valid', ...unit };
  } finally {
    console.log = errors;
  }
}

const spaceAround = (code) => code !== code.trim();

function validate(code) {
  const { status } = utils.validateUnitString(code, false);
  if (status !== 'valid') return { status };
  const { unit } = utils.getSpecifiedUnit(code, 'validate');
  return {
    status,
    unit: unit && {
      magnitude: unit.magnitude_, dimension: [...(unit.dim_?.dimVec_ ?? [])],
      special: unit.isSpecial_, arbitrary: unit.isArbitrary_,
    },
  };
}

/** check reports every Quantity whose UCUM code is not one. */
export function check(resource, report) {
  walk(resource, ({ node, expression }) => {
    if (node.system !== 'http://unitsofmeasure.org' || node.code === undefined) return;
    if (!judge(node.code).valid) {
      report({ engine: 'ucum-lhc', rule: 'ucum', severity: 'error', expression, message: `${JSON.stringify(node.code)} is not UCUM` });
    }
  });
}
