// Package calc computes the dose and fluid measures of home haemodialysis:
// pure functions of numbers with units, without input, output or FHIR.
//
// Two layers. Typed functions, one per formula, say meaning, units, range,
// equation and source. [Methods] puts them in one table with permanent ids,
// so that the mapper that writes a value, the command that prints it and the
// validator that recomputes it cannot differ.
//
// A value that cannot be computed says why; nothing is clamped, guessed or
// filled in. The package reports value, method, target and source and never
// a verdict. Everything is calculated from patient-entered values, is not a
// device and is not for changing treatment.
package calc
