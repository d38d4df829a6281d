/*
Package kinetics is the urea kinetic model: variable volume, one pool or two,
for home weeks, which are neither equal nor evenly spaced.

[SteadyState] solves any repeating schedule. [Follow] carries the urea through
the weeks as they were done, missed and shortened sessions included, and
[Run.Window] gives the dose of any stretch of them; [DoneWeek] does so for one
week by its weights. [FitVolume] and [FitClearance] go back from a pair of
samples to volume or clearance and generation. Standard Kt/V and EKR do not
depend on the generation rate, so that they exist without any blood sample
when clearance and volume are estimated: set Body.GenerationAssumed.

The solution is closed: in the time s with ds = dt/V the two-pool equations
have constant coefficients although the volume changes, so each stretch of
constant rates is two exponentials, and the steady state one linear solve.
There is no step size. The least certain number is the exchange between the
pools, then the volume. Concentrations are urea nitrogen in mg/dL of body water.

The model imports package calc for the definitions of the doses. No method of
calc evaluates the model: its means are inputs of the methods there.

Tests hold it against the textbook forms, a matrix exponential at constant
volume, Runge-Kutta integration of random weeks, and a mass balance to 1e-9.
*/
package kinetics
