// Made from the Go tables by profiles/fsh/gen. Do not edit.

Invariant: rs-machine-reading-mL-per-min-or-L-per-h
Description: "The unit is mL/min or L/h for Dialysate flow rate; Blood flow rate"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'dialysate-flow-rate' or code = 'blood-flow-rate'))).exists() implies value.ofType(Quantity).all(code = 'mL/min' or code = 'L/h')"

Invariant: rs-machine-reading-mmol-per-L
Description: "The unit is mmol/L for Dialysate sodium; Dialysate potassium; Dialysate calcium; Dialysate bicarbonate; Dialysate lactate"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'dialysate-sodium' or code = 'dialysate-potassium' or code = 'dialysate-calcium' or code = 'dialysate-bicarbonate' or code = 'dialysate-lactate'))).exists() implies value.ofType(Quantity).all(code = 'mmol/L')"

Invariant: rs-machine-reading-mmHg
Description: "The unit is mm[Hg] for Arterial (pre-pump) line pressure; Venous (return) line pressure; Transmembrane pressure"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'arterial-line-pressure' or code = 'venous-line-pressure' or code = 'transmembrane-pressure'))).exists() implies value.ofType(Quantity).all(code = 'mm[Hg]')"

Invariant: rs-machine-reading-mL-per-h-or-L-per-h
Description: "The unit is mL/h or L/h for Ultrafiltration rate"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'uf-rate'))).exists() implies value.ofType(Quantity).all(code = 'mL/h' or code = 'L/h')"

Invariant: rs-machine-reading-L-or-mL
Description: "The unit is L or mL for Ultrafiltration volume so far"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'uf-volume-so-far'))).exists() implies value.ofType(Quantity).all(code = 'L' or code = 'mL')"

Invariant: rs-machine-reading-mS-per-cm
Description: "The unit is mS/cm for Dialysate conductivity"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'dialysate-conductivity'))).exists() implies value.ofType(Quantity).all(code = 'mS/cm')"

Invariant: rs-machine-reading-Cel
Description: "The unit is Cel for Dialysate temperature"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'dialysate-temperature'))).exists() implies value.ofType(Quantity).all(code = 'Cel')"

RuleSet: Units-runsheet-machine-reading
* obeys rs-machine-reading-mL-per-min-or-L-per-h and rs-machine-reading-mmol-per-L and rs-machine-reading-mmHg and rs-machine-reading-mL-per-h-or-L-per-h and rs-machine-reading-L-or-mL and rs-machine-reading-mS-per-cm and rs-machine-reading-Cel

Invariant: rs-total-L-or-mL
Description: "The unit is L or mL for Ultrafiltration goal; Ultrafiltrate volume removed; Oral intake during dialysis; Saline given during dialysis; Rinse-back volume; Urine output; Dialysate volume; Blood volume processed"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'uf-goal' or code = 'oral-intake-during-dialysis' or code = 'saline-given' or code = 'rinse-back-volume' or code = 'dialysate-volume' or code = 'blood-volume-processed')) or (system = 'http://loinc.org' and (code = '99741-1' or code = '9187-6'))).exists() implies value.ofType(Quantity).all(code = 'L' or code = 'mL')"

Invariant: rs-total-min-or-h
Description: "The unit is min or h for Treatment time delivered"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'treatment-time-delivered'))).exists() implies value.ofType(Quantity).all(code = 'min' or code = 'h')"

RuleSet: Units-runsheet-total
* obeys rs-total-L-or-mL and rs-total-min-or-h

Invariant: rs-clinic-value-kg-or-lb
Description: "The unit is kg or [lb_av] for Dry body weight Estimated"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '8340-2'))).exists() implies value.ofType(Quantity).all(code = 'kg' or code = '[lb_av]')"

RuleSet: Units-runsheet-clinic-value
* obeys rs-clinic-value-kg-or-lb

Invariant: rs-laboratory-mmol-per-L
Description: "The unit is mmol/L for Urea [Moles/volume] in Serum or Plasma; Urea [Moles/volume] in Serum or Plasma --pre dialysis; Urea [Moles/volume] in Serum or Plasma --post dialysis; Urea nitrogen [Moles/volume] in Serum or Plasma; Hemoglobin [Moles/volume] in Blood; Phosphate [Moles/volume] in Serum or Plasma; Phosphate [Moles/volume] in Serum or Plasma --post dialysis; Calcium [Moles/volume] in Serum or Plasma; Magnesium [Moles/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '22664-7' or code = '39777-8' or code = '39776-0' or code = '14937-7' or code = '59260-0' or code = '14879-1' or code = '55972-4' or code = '2000-8' or code = '2601-3'))).exists() implies value.ofType(Quantity).all(code = 'mmol/L')"

Invariant: rs-laboratory-mg-per-dL
Description: "The unit is mg/dL for Urea [Mass/volume] in Serum or Plasma; Urea nitrogen [Mass/volume] in Serum or Plasma; Urea nitrogen [Mass/volume] in Serum or Plasma --pre dialysis; Urea nitrogen [Mass/volume] in Serum or Plasma --post dialysis; Creatinine [Mass/volume] in Serum or Plasma; Creatinine [Mass/volume] in Serum or Plasma --pre dialysis; Creatinine [Mass/volume] in Serum or Plasma --post dialysis; Phosphate [Mass/volume] in Serum or Plasma; Phosphate [Mass/volume] in Serum or Plasma --post dialysis; Calcium [Mass/volume] in Serum or Plasma; Magnesium [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '3091-6' or code = '3094-0' or code = '11065-0' or code = '11064-3' or code = '2160-0' or code = '11042-9' or code = '11041-1' or code = '2777-1' or code = '48617-5' or code = '17861-6' or code = '19123-9'))).exists() implies value.ofType(Quantity).all(code = 'mg/dL')"

Invariant: rs-laboratory-umol-per-L-or-mmol-per-L
Description: "The unit is umol/L or mmol/L for Creatinine [Moles/volume] in Serum or Plasma; Creatinine [Moles/volume] in Serum or Plasma --pre dialysis; Creatinine [Moles/volume] in Serum or Plasma --post dialysis"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '14682-9' or code = '51619-5' or code = '51620-3'))).exists() implies value.ofType(Quantity).all(code = 'umol/L' or code = 'mmol/L')"

Invariant: rs-laboratory-mmol-per-L-or-meq-per-L
Description: "The unit is mmol/L or meq/L for Potassium [Moles/volume] in Serum or Plasma; Potassium [Moles/volume] in Serum or Plasma --pre dialysis; Potassium [Moles/volume] in Serum or Plasma --post dialysis; Bicarbonate [Moles/volume] in Serum or Plasma; Sodium [Moles/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '2823-3' or code = '51618-7' or code = '29349-8' or code = '1963-8' or code = '2951-2'))).exists() implies value.ofType(Quantity).all(code = 'mmol/L' or code = 'meq/L')"

Invariant: rs-laboratory-g-per-L-or-g-per-dL
Description: "The unit is g/L or g/dL for Hemoglobin [Mass/volume] in Blood; Albumin [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '718-7' or code = '1751-7'))).exists() implies value.ofType(Quantity).all(code = 'g/L' or code = 'g/dL')"

Invariant: rs-laboratory-ug-per-L-or-ng-per-mL
Description: "The unit is ug/L or ng/mL for Ferritin [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '2276-4'))).exists() implies value.ofType(Quantity).all(code = 'ug/L' or code = 'ng/mL')"

Invariant: rs-laboratory-mg-per-L-or-mg-per-dL
Description: "The unit is mg/L or mg/dL for C reactive protein [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '1988-5'))).exists() implies value.ofType(Quantity).all(code = 'mg/L' or code = 'mg/dL')"

Invariant: rs-laboratory-pg-per-mL-or-ng-per-L
Description: "The unit is pg/mL or ng/L for Parathyrin.intact [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '2731-8'))).exists() implies value.ofType(Quantity).all(code = 'pg/mL' or code = 'ng/L')"

Invariant: rs-laboratory-pmol-per-L
Description: "The unit is pmol/L for Parathyrin.intact [Moles/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '14866-8'))).exists() implies value.ofType(Quantity).all(code = 'pmol/L')"

Invariant: rs-laboratory-mg-per-L-or-ug-per-mL
Description: "The unit is mg/L or ug/mL for Beta-2-Microglobulin [Mass/volume] in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '1952-1'))).exists() implies value.ofType(Quantity).all(code = 'mg/L' or code = 'ug/mL')"

RuleSet: Units-runsheet-laboratory
* obeys rs-laboratory-mmol-per-L and rs-laboratory-mg-per-dL and rs-laboratory-umol-per-L-or-mmol-per-L and rs-laboratory-mmol-per-L-or-meq-per-L and rs-laboratory-g-per-L-or-g-per-dL and rs-laboratory-ug-per-L-or-ng-per-mL and rs-laboratory-mg-per-L-or-mg-per-dL and rs-laboratory-pg-per-mL-or-ng-per-L and rs-laboratory-pmol-per-L and rs-laboratory-mg-per-L-or-ug-per-mL

Invariant: rs-check-mg-per-L-or-ppm
Description: "The unit is mg/L or [ppm] for Total chlorine of the water"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'check-total-chlorine'))).exists() implies value.ofType(Quantity).all(code = 'mg/L' or code = '[ppm]')"

Invariant: rs-check-mg-per-L-or-gpg-or-ppm-or-mmol-per-L
Description: "The unit is mg/L or [gr]/[gal_us] or [ppm] or mmol/L for Hardness of the water, as calcium carbonate"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'check-water-hardness'))).exists() implies value.ofType(Quantity).all(code = 'mg/L' or code = '[gr]/[gal_us]' or code = '[ppm]' or code = 'mmol/L')"

Invariant: rs-check-mS-per-cm
Description: "The unit is mS/cm for Dialysate conductivity measured apart from the machine; Dialysate batch tested"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'check-conductivity' or code = 'check-dialysate-batch'))).exists() implies value.ofType(Quantity).all(code = 'mS/cm')"

RuleSet: Units-runsheet-check
* obeys rs-check-mg-per-L-or-ppm and rs-check-mg-per-L-or-gpg-or-ppm-or-mmol-per-L and rs-check-mS-per-cm

Invariant: rs-computed-mmHg
Description: "The unit is mm[Hg] for Transmembrane pressure"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'transmembrane-pressure'))).exists() implies value.ofType(Quantity).all(code = 'mm[Hg]')"

Invariant: rs-computed-mL-per-kg-per-h
Description: "The unit is mL/kg/h for Ultrafiltration rate per kg body weight"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'uf-rate-per-kg'))).exists() implies value.ofType(Quantity).all(code = 'mL/kg/h')"

Invariant: rs-computed-L
Description: "The unit is L for Fluid removal expected from weights; Fluid removal not accounted for; Total body water (Watson); Total body water; Fluid removed in the week"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'uf-expected-from-weights' or code = 'uf-discrepancy' or code = 'total-body-water-watson' or code = 'total-body-water' or code = 'uf-done'))).exists() implies value.ofType(Quantity).all(code = 'L')"

Invariant: rs-computed-kg
Description: "The unit is kg for Interdialytic weight gain; Post-dialysis weight less dry weight"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'interdialytic-weight-gain' or code = 'target-weight-difference'))).exists() implies value.ofType(Quantity).all(code = 'kg')"

Invariant: rs-computed-percent
Description: "The unit is % for Interdialytic weight gain in percent of the previous post-dialysis weight; Urea reduction ratio in Serum or Plasma"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'interdialytic-weight-gain-percent')) or (system = 'http://loinc.org' and (code = '54456-9'))).exists() implies value.ofType(Quantity).all(code = '%')"

Invariant: rs-computed-ratio
Description: "The unit is 1 for Dialysate saturation with urea, estimated; Kt/V estimated from the dialysate side; Kt/V.Hemodialysis [Daugirdas II]; Single-pool Kt/V with the generation factor of the interval; Equilibrated Kt/V; Weekly standard Kt/V"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'dialysate-saturation' or code = 'dialysate-side-kt-v' or code = 'spkt-v-interval-factor' or code = 'ekt-v' or code = 'std-kt-v-weekly')) or (system = 'http://loinc.org' and (code = '70965-9'))).exists() implies value.ofType(Quantity).all(code = '1')"

Invariant: rs-computed-per-wk
Description: "The unit is /wk for Sessions done in the week; Sessions planned for the week"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'sessions-done' or code = 'sessions-planned'))).exists() implies value.ofType(Quantity).all(code = '/wk')"

Invariant: rs-computed-h
Description: "The unit is h for Hours treated in the week"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'hours-done'))).exists() implies value.ofType(Quantity).all(code = 'h')"

Invariant: rs-computed-mL-per-min
Description: "The unit is mL/min for Equivalent renal urea clearance"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'ekr'))).exists() implies value.ofType(Quantity).all(code = 'mL/min')"

Invariant: rs-computed-mmol-per-L
Description: "The unit is mmol/L for Time-averaged urea"
Severity: #error
Expression: "code.coding.where((system = 'urn:oid:2.25.335990940244883323309943966314996822642' and (code = 'time-averaged-urea'))).exists() implies value.ofType(Quantity).all(code = 'mmol/L')"

Invariant: rs-computed-g-per-kg-per-d
Description: "The unit is g/kg/d for Protein catabolic rate adjusted for body weight based on Serum or Plasma [Calculated]"
Severity: #error
Expression: "code.coding.where((system = 'http://loinc.org' and (code = '70959-2'))).exists() implies value.ofType(Quantity).all(code = 'g/kg/d')"

RuleSet: Units-runsheet-computed
* obeys rs-computed-mmHg and rs-computed-mL-per-kg-per-h and rs-computed-L and rs-computed-kg and rs-computed-percent and rs-computed-ratio and rs-computed-per-wk and rs-computed-h and rs-computed-mL-per-min and rs-computed-mmol-per-L and rs-computed-g-per-kg-per-d

