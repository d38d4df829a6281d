/*
Package calc computes the dose and the fluid measures of home haemodialysis:
pure functions of numbers with units, without input, output or FHIR.

Everything it returns is calculated from patient-entered values. It is not a
device and not for changing treatment: follow the prescription, local policy
and the care team. The package reports value, method, target and source, and
never a verdict.

# How it is arranged

Two layers. Typed functions, one per formula, carry meaning, units, range,
equation and source in their comment; they return an error of type
[NotComputable] that says in plain words why there is no value. Above them
[Methods] is one table with a permanent id and version per method. The mapper
that writes a value, the command that prints it and the validator that
recomputes it all go through that table, so that they cannot differ:

	m, _ := calc.MethodByID("spktv-daugirdas2")
	r := m.Compute(calc.Inputs{"urea_before": 25, ...})

A [Result] carries value, unit, method, the inputs used, validity notes and
the reason when there is none. [Result.Explain] prints the formula with the
numbers put in, and a test evaluates every printed formula against the code.
Inputs are named by the keys of [Vocabulary], which the session log and the
FHIR code table share. [Sequence] feeds one method's value to the next,
[LeastCertain] and [Method.Vary] show what an uncertain input does to a value,
and [Method.Slack] how far rounding may move a recomputed one.

Nothing is clamped, guessed or filled in. An input that was not recorded is
absent, never 0; an optional one that is left out is named in the notes.

# How well each thing is known

Every source says whether it was read or is from memory. Of the published
papers mostly abstracts and guideline texts could be read, so that "read"
never means the whole paper. Figures "from memory" are marked at the constant
and in the source text that travels with each result. Facts of the trade are
marked "common practice".

The tests hold every formula against its check values and say of each whether
the figure was published, derived or from memory. All published pairs are met,
but most are weak as tests: session length or fluid removed is not in the text
that could be read and was chosen here. The strong one is corrected EKR at two
doses (Casino and Lopez 1996). No complete published kinetic example could be
read; the kinetic model rests on the agreement of its closed form with the
textbook forms, a matrix exponential at constant volume, Runge-Kutta
integration of random weeks, and a mass balance to 1e-9.

# Dose of one session

Urea falls during dialysis. [URR] is the plain percentage; it knows nothing of
fluid removed and urea generated. Single-pool Kt/V does: [SpKtVDaugirdas2]
takes the ratio after/before, the hours, the UF volume and the weight. Its
generation term 0.008 per hour is for three sessions a week; for others
[GFACForInterval] takes the days since the previous session. Short daily
sessions then read up to 5 % high, while 0.008 reads up to 4 % low for them
and up to 22 % low for long nights. Prefer the kinetic model, and always say
which was used.

After the session urea flows back from tissue. Equilibrated Kt/V allows for
that: [EKtVRateAV] and [EKtVRateCVC] for 2.5 to 5 h, the multiplicative
[EKtVTattersall] for short and long sessions, [EKtVLeypoldt] as used on the
HEMO data.

Samples have rules, kept in [ChooseKtV]: no spKt/V without samples; a sample
half an hour late is already equilibrated and is not corrected again; and a
value from the dialysate side is never called spKt/V. Plasma and plasma water
differ by 7 %; the one conversion is [BodyWaterFromPlasma].

# Low dialysate flow

With a small dialysate volume the drained fluid is nearly saturated, and what
was cleared is its volume: [DialysateKtV]. The saturation follows from
[DiffusiveClearance] and [ClearanceWithUF]; the printed KoA overstates it, and
the "in-use" methods allow for that. Where the true Kt/V is 0.65, blood samples of
the same session give 0.69 to 0.74: do not compare across methods.

# Dose of a week

Sums of session Kt/V do not compare across schedules. Standard Kt/V does: it
is the continuous clearance that would hold urea at the mean level seen before
sessions. [StdKtVFixedVolume] is exact for equal sessions at constant volume,
at any spacing; [StdKtVFHN] adds fluid removal and residual function;
[StdKtVGotch] is a different form that must not be mixed with them.
[SANStdKtV] relates the dose to body surface. [EKR] refers to the mean level
over all time, and so lies higher.

# Urea kinetics of real weeks

Home weeks are neither equal nor evenly spaced. Package kinetics computes the
urea of such weeks; the methods here only take its means ([StdKtVByDefinition],
[EKR]), so that a validator can recompute each dose from its inputs.

# Body water and size

[WatsonMale], [WatsonFemale], [HumeWeyersMale], [HumeWeyersFemale] and
[Chertow] for adults, [Morgenstern] and the older [MellitsCheekBoy] and
[MellitsCheekGirl] for children. They differ by litres; each result names its
formula. Fluid above dry weight adds one litre per kilogram to all of them.
Surface area by [BSADuBois] and three others; after an amputation
[WeightBeforeAmputation] serves the body mass index only.

# Protein

[NPCRFromGeneration] for any schedule, [NPCRTwoPoint] for two or three
sessions a week, both in steady state.

# Fluid

[UFRatePerKg]; [UFExpected] and [UFDiscrepancy] against the scales;
[WeightGain], [TargetMiss] and [TimeAveragedExcess]. [FluidPlan] puts volume, rate and time together, which must agree:
30 L at 10 L/h is three hours, 1.0 L over them is 0.33 L/h, and a rate of
0.5 L/h is done in two.

# Blood pressure, access, adherence

Definitions are many and are kept apart by name: [HypotensionNadir],
[HypotensionEBPG], [HypotensionKDOQI]. Each answers yes, no or not assessable;
a fall alone is never hypotension. [Recirculation], [StaticPressureRatio] and
three formulas of transmembrane pressure; [Trends] within one person at the
same flow and needle. [CountAdherence] counts what was done of what was
planned.

# Published figures

[Figures] holds the figures of guidelines with scope, grade and how they were
read; [Scope.Includes] says whether one is stated for a patient.
*/
package calc
