// Made from the Go tables by profiles/fsh/gen. Do not edit.

Instance: runsheet-codes-to-standard
InstanceOf: ConceptMap
Usage: #definition
Title: "Local codes to LOINC and SNOMED CT"
Description: "What comes near each local code in the standard code systems, and what keeps them apart."
* url = "https://runsheet.example/fhir/ConceptMap/runsheet-codes-to-standard"
* version = "0.1.0"
* name = "RunsheetCodesToStandard"
* title = "Local codes to LOINC and SNOMED CT"
* status = #active
* experimental = false
* date = "2026-11-25"
* publisher = "Runsheet"
* description = "What comes near each local code in the standard code systems, and what keeps them apart. Unmatched: none was found whose number and meaning were seen together. Not searched in, because the tables may not be copied or their numbers contradict each other: ISO/IEEE 11073-10101, and SNOMED CT outside the Global Patient Set."
* copyright = "This material contains content from LOINC (http://loinc.org). LOINC is copyright © Regenstrief Institute, Inc. and the Logical Observation Identifiers Names and Codes (LOINC) Committee and is available at no cost under the license at http://loinc.org/license. LOINC® is a registered United States trademark of Regenstrief Institute, Inc. SNOMED CT Global Patient Set, CC BY 4.0."
* group[0].source = "urn:oid:2.25.335990940244883323309943966314996822642"
* group[0].sourceVersion = "1"
* group[0].target = "http://loinc.org"
* group[0].element[+].code = #uf-goal
* group[0].element[=].display = "Ultrafiltration goal"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #oral-intake-during-dialysis
* group[0].element[=].display = "Oral intake during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #saline-given
* group[0].element[=].display = "Saline given during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #rinse-back-volume
* group[0].element[=].display = "Rinse-back volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-volume
* group[0].element[=].display = "Dialysate volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-flow-rate
* group[0].element[=].display = "Dialysate flow rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #blood-flow-rate
* group[0].element[=].display = "Blood flow rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #blood-volume-processed
* group[0].element[=].display = "Blood volume processed"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #treatment-time-delivered
* group[0].element[=].display = "Treatment time delivered"
* group[0].element[=].target[0].code = #70956-8
* group[0].element[=].target[0].display = "Minutes of hemodialysis completed when BUN drawn [ESRD]"
* group[0].element[=].target[0].equivalence = #narrower
* group[0].element[=].target[0].comment = "only for a session at which urea nitrogen was drawn (NLM VSAC 1267.13; LOINC status trial)"
* group[0].element[+].code = #prescription-followed
* group[0].element[=].display = "Prescription followed, if not the usual one"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-sodium
* group[0].element[=].display = "Dialysate sodium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-potassium
* group[0].element[=].display = "Dialysate potassium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-calcium
* group[0].element[=].display = "Dialysate calcium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-bicarbonate
* group[0].element[=].display = "Dialysate bicarbonate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-lactate
* group[0].element[=].display = "Dialysate lactate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #arterial-needle-site
* group[0].element[=].display = "Place of the arterial needle"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #venous-needle-site
* group[0].element[=].display = "Place of the venous needle"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #needles-first-try
* group[0].element[=].display = "Needles in at the first try"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #access-problem
* group[0].element[=].display = "Problem with needles or catheter"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #recovery-time
* group[0].element[=].display = "Time to recover after dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-total-chlorine
* group[0].element[=].display = "Total chlorine of the water"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-water-hardness
* group[0].element[=].display = "Hardness of the water, as calcium carbonate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-conductivity
* group[0].element[=].display = "Dialysate conductivity measured apart from the machine"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-dialysate-batch
* group[0].element[=].display = "Dialysate batch tested"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-self-test
* group[0].element[=].display = "Machine self-test"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-disinfection
* group[0].element[=].display = "Disinfection"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-circuit-primed
* group[0].element[=].display = "Circuit primed and free of air"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-connections
* group[0].element[=].display = "Connections and clamps looked over"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-redness
* group[0].element[=].display = "Redness at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-swelling
* group[0].element[=].display = "Swelling at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-pain
* group[0].element[=].display = "Pain at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-thrill
* group[0].element[=].display = "Thrill felt at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-needle-monitor
* group[0].element[=].display = "Monitor for a loose needle or line in place"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-supplies
* group[0].element[=].display = "Supplies looked over"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-other
* group[0].element[=].display = "Other check before dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #arterial-line-pressure
* group[0].element[=].display = "Arterial (pre-pump) line pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #venous-line-pressure
* group[0].element[=].display = "Venous (return) line pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #transmembrane-pressure
* group[0].element[=].display = "Transmembrane pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-rate
* group[0].element[=].display = "Ultrafiltration rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-volume-so-far
* group[0].element[=].display = "Ultrafiltration volume so far"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-conductivity
* group[0].element[=].display = "Dialysate conductivity"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-temperature
* group[0].element[=].display = "Dialysate temperature"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #reading-note
* group[0].element[=].display = "Note made during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #machine-alarm-number
* group[0].element[=].display = "Number of the alarm, as the machine shows it"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #machine-alarm
* group[0].element[=].display = "Machine alarm"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #symptom-during-dialysis
* group[0].element[=].display = "Symptom during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #access-event
* group[0].element[=].display = "Access event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #needle-event
* group[0].element[=].display = "Needles swapped or recirculating"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #circuit-event
* group[0].element[=].display = "Circuit event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #water-event
* group[0].element[=].display = "Water or dialysate event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #other-event
* group[0].element[=].display = "Other event during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-rate-per-kg
* group[0].element[=].display = "Ultrafiltration rate per kg body weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-expected-from-weights
* group[0].element[=].display = "Fluid removal expected from weights"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-discrepancy
* group[0].element[=].display = "Fluid removal not accounted for"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #interdialytic-weight-gain
* group[0].element[=].display = "Interdialytic weight gain"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #interdialytic-weight-gain-percent
* group[0].element[=].display = "Interdialytic weight gain in percent of the previous post-dialysis weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #target-weight-difference
* group[0].element[=].display = "Post-dialysis weight less dry weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #total-body-water-watson
* group[0].element[=].display = "Total body water (Watson)"
* group[0].element[=].target[0].code = #101683-1
* group[0].element[=].target[0].display = "Body water mass"
* group[0].element[=].target[0].equivalence = #inexact
* group[0].element[=].target[0].comment = "a mass in kg by any method; the local code is a volume in L by one formula"
* group[0].element[+].code = #total-body-water
* group[0].element[=].display = "Total body water"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-saturation
* group[0].element[=].display = "Dialysate saturation with urea, estimated"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-side-kt-v
* group[0].element[=].display = "Kt/V estimated from the dialysate side"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #spkt-v-interval-factor
* group[0].element[=].display = "Single-pool Kt/V with the generation factor of the interval"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #ekt-v
* group[0].element[=].display = "Equilibrated Kt/V"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #std-kt-v-weekly
* group[0].element[=].display = "Weekly standard Kt/V"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-done
* group[0].element[=].display = "Sessions done in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-planned
* group[0].element[=].display = "Sessions planned for the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #hours-done
* group[0].element[=].display = "Hours treated in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-done
* group[0].element[=].display = "Fluid removed in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #ekr
* group[0].element[=].display = "Equivalent renal urea clearance"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #time-averaged-urea
* group[0].element[=].display = "Time-averaged urea"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-age
* group[0].element[=].display = "Age at the time of treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-sex
* group[0].element[=].display = "Sex used in the formula"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-previous-weight-after
* group[0].element[=].display = "Body weight after the previous dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-urea-before
* group[0].element[=].display = "Urea before the treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-uf-removed
* group[0].element[=].display = "Ultrafiltration volume of the whole treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-sessions-per-week
* group[0].element[=].display = "Dialysis sessions per week"
* group[0].element[=].target[0].code = #68448-0
* group[0].element[=].target[0].display = "Dialysis sessions per week"
* group[0].element[=].target[0].equivalence = #relatedto
* group[0].element[=].target[0].comment = "a survey item, not an input of a formula (NLM VSAC; LOINC status trial)"
* group[0].element[+].code = #input-preceding-interval
* group[0].element[=].display = "Interval since the previous dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-weekly-uf
* group[0].element[=].display = "Ultrafiltration volume of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-dialyser-koa
* group[0].element[=].display = "Dialyser mass transfer-area coefficient for urea"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #residual-urea-clearance
* group[0].element[=].display = "Residual urea clearance"
* group[0].element[=].target[0].code = #71339-6
* group[0].element[=].target[0].display = "Urea renal clearance/1.73 sq M--hemodialysis Urine and Serum or Plasma [ESRD]"
* group[0].element[=].target[0].equivalence = #inexact
* group[0].element[=].target[0].comment = "normalised to 1.73 m2 of body surface; the local code is not (NLM VSAC 1267.13)"
* group[0].element[+].code = #input-sessions-counted
* group[0].element[=].display = "Sessions of the week with a record"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-weekly-treated-time
* group[0].element[=].display = "Treated time of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-urea-generation
* group[0].element[=].display = "Urea nitrogen generation of the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-urea-volume
* group[0].element[=].display = "Urea volume of the urea model after dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-mean-urea-before
* group[0].element[=].display = "Mean urea nitrogen in body water before dialysis by the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-time-averaged-urea
* group[0].element[=].display = "Time-averaged urea nitrogen in body water by the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-urea-pool-1
* group[0].element[=].display = "Urea nitrogen in the pool that the dialyser reaches, at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-urea-pool-2
* group[0].element[=].display = "Urea nitrogen in the pool behind it, at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-body-water
* group[0].element[=].display = "Body water at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-reference-weight
* group[0].element[=].display = "Body weight at which body water is the urea volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-clearance-factor
* group[0].element[=].display = "Clearance over the clearance from flows and KoA"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-planned-not-done
* group[0].element[=].display = "Minutes from the start of the week to a session planned and not done"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #model-fluid-gain-rate
* group[0].element[=].display = "Fluid taken to be gained a day after the last session"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #visit-report
* group[0].element[=].display = "Home haemodialysis report for the visit"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #attendance
* group[0].element[=].display = "Sessions of these days, counted"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-cut-short
* group[0].element[=].display = "Sessions cut short"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-not-done
* group[0].element[=].display = "Sessions not done"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-held-back
* group[0].element[=].display = "Sessions held back because of mistakes in the log"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-treated-time
* group[0].element[=].display = "Time treated: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-weight-after
* group[0].element[=].display = "Weight after dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-target-miss
* group[0].element[=].display = "Weight after dialysis less dry weight: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-interdialytic-weight-gain
* group[0].element[=].display = "Weight gain between sessions: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-uf-removed
* group[0].element[=].display = "Fluid removed: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-uf-rate-per-kg
* group[0].element[=].display = "UF rate per weight: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-bp-before-systolic
* group[0].element[=].display = "Systolic blood pressure before dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-bp-before-diastolic
* group[0].element[=].display = "Diastolic blood pressure before dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-lowest-systolic
* group[0].element[=].display = "Lowest systolic blood pressure during dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-venous-line-pressure
* group[0].element[=].display = "Venous line pressure at the set blood flow: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-arterial-line-pressure
* group[0].element[=].display = "Arterial line pressure at the set blood flow: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-recovery-time
* group[0].element[=].display = "Time to recover after dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-dialysate-kt-v
* group[0].element[=].display = "Kt/V of a session from dialysate: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-std-kt-v-weekly
* group[0].element[=].display = "Weekly standard Kt/V by the urea model: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #urea-model-week
* group[0].element[=].display = "Week of dialysis with the urea model at its start"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #urea-model-weeks
* group[0].element[=].display = "Weeks of dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[1].source = "urn:oid:2.25.335990940244883323309943966314996822642"
* group[1].sourceVersion = "1"
* group[1].target = "http://snomed.info/sct"
* group[1].element[+].code = #uf-goal
* group[1].element[=].display = "Ultrafiltration goal"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #oral-intake-during-dialysis
* group[1].element[=].display = "Oral intake during dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #saline-given
* group[1].element[=].display = "Saline given during dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #rinse-back-volume
* group[1].element[=].display = "Rinse-back volume"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-volume
* group[1].element[=].display = "Dialysate volume"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-flow-rate
* group[1].element[=].display = "Dialysate flow rate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #blood-flow-rate
* group[1].element[=].display = "Blood flow rate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #blood-volume-processed
* group[1].element[=].display = "Blood volume processed"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #treatment-time-delivered
* group[1].element[=].display = "Treatment time delivered"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #prescription-followed
* group[1].element[=].display = "Prescription followed, if not the usual one"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-sodium
* group[1].element[=].display = "Dialysate sodium"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-potassium
* group[1].element[=].display = "Dialysate potassium"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-calcium
* group[1].element[=].display = "Dialysate calcium"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-bicarbonate
* group[1].element[=].display = "Dialysate bicarbonate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-lactate
* group[1].element[=].display = "Dialysate lactate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #arterial-needle-site
* group[1].element[=].display = "Place of the arterial needle"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #venous-needle-site
* group[1].element[=].display = "Place of the venous needle"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #needles-first-try
* group[1].element[=].display = "Needles in at the first try"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #access-problem
* group[1].element[=].display = "Problem with needles or catheter"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #recovery-time
* group[1].element[=].display = "Time to recover after dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-total-chlorine
* group[1].element[=].display = "Total chlorine of the water"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-water-hardness
* group[1].element[=].display = "Hardness of the water, as calcium carbonate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-conductivity
* group[1].element[=].display = "Dialysate conductivity measured apart from the machine"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-dialysate-batch
* group[1].element[=].display = "Dialysate batch tested"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-self-test
* group[1].element[=].display = "Machine self-test"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-disinfection
* group[1].element[=].display = "Disinfection"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-circuit-primed
* group[1].element[=].display = "Circuit primed and free of air"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-connections
* group[1].element[=].display = "Connections and clamps looked over"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-access-redness
* group[1].element[=].display = "Redness at the access"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-access-swelling
* group[1].element[=].display = "Swelling at the access"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-access-pain
* group[1].element[=].display = "Pain at the access"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-access-thrill
* group[1].element[=].display = "Thrill felt at the access"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-needle-monitor
* group[1].element[=].display = "Monitor for a loose needle or line in place"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-supplies
* group[1].element[=].display = "Supplies looked over"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #check-other
* group[1].element[=].display = "Other check before dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #arterial-line-pressure
* group[1].element[=].display = "Arterial (pre-pump) line pressure"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #venous-line-pressure
* group[1].element[=].display = "Venous (return) line pressure"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #transmembrane-pressure
* group[1].element[=].display = "Transmembrane pressure"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-rate
* group[1].element[=].display = "Ultrafiltration rate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-volume-so-far
* group[1].element[=].display = "Ultrafiltration volume so far"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-conductivity
* group[1].element[=].display = "Dialysate conductivity"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-temperature
* group[1].element[=].display = "Dialysate temperature"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #reading-note
* group[1].element[=].display = "Note made during dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #machine-alarm-number
* group[1].element[=].display = "Number of the alarm, as the machine shows it"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #machine-alarm
* group[1].element[=].display = "Machine alarm"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #symptom-during-dialysis
* group[1].element[=].display = "Symptom during dialysis"
* group[1].element[=].target[0].code = #33603003
* group[1].element[=].target[0].display = "Complication of renal dialysis (disorder)"
* group[1].element[=].target[0].equivalence = #relatedto
* group[1].element[=].target[0].comment = "a symptom the person noticed may or may not be a complication"
* group[1].element[+].code = #access-event
* group[1].element[=].display = "Access event"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #needle-event
* group[1].element[=].display = "Needles swapped or recirculating"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #circuit-event
* group[1].element[=].display = "Circuit event"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #water-event
* group[1].element[=].display = "Water or dialysate event"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #other-event
* group[1].element[=].display = "Other event during dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-rate-per-kg
* group[1].element[=].display = "Ultrafiltration rate per kg body weight"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-expected-from-weights
* group[1].element[=].display = "Fluid removal expected from weights"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-discrepancy
* group[1].element[=].display = "Fluid removal not accounted for"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #interdialytic-weight-gain
* group[1].element[=].display = "Interdialytic weight gain"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #interdialytic-weight-gain-percent
* group[1].element[=].display = "Interdialytic weight gain in percent of the previous post-dialysis weight"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #target-weight-difference
* group[1].element[=].display = "Post-dialysis weight less dry weight"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #total-body-water-watson
* group[1].element[=].display = "Total body water (Watson)"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #total-body-water
* group[1].element[=].display = "Total body water"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-saturation
* group[1].element[=].display = "Dialysate saturation with urea, estimated"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #dialysate-side-kt-v
* group[1].element[=].display = "Kt/V estimated from the dialysate side"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #spkt-v-interval-factor
* group[1].element[=].display = "Single-pool Kt/V with the generation factor of the interval"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #ekt-v
* group[1].element[=].display = "Equilibrated Kt/V"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #std-kt-v-weekly
* group[1].element[=].display = "Weekly standard Kt/V"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #sessions-done
* group[1].element[=].display = "Sessions done in the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #sessions-planned
* group[1].element[=].display = "Sessions planned for the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #hours-done
* group[1].element[=].display = "Hours treated in the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #uf-done
* group[1].element[=].display = "Fluid removed in the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #ekr
* group[1].element[=].display = "Equivalent renal urea clearance"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #time-averaged-urea
* group[1].element[=].display = "Time-averaged urea"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-age
* group[1].element[=].display = "Age at the time of treatment"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-sex
* group[1].element[=].display = "Sex used in the formula"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-previous-weight-after
* group[1].element[=].display = "Body weight after the previous dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-urea-before
* group[1].element[=].display = "Urea before the treatment"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-uf-removed
* group[1].element[=].display = "Ultrafiltration volume of the whole treatment"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-sessions-per-week
* group[1].element[=].display = "Dialysis sessions per week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-preceding-interval
* group[1].element[=].display = "Interval since the previous dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-weekly-uf
* group[1].element[=].display = "Ultrafiltration volume of the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-dialyser-koa
* group[1].element[=].display = "Dialyser mass transfer-area coefficient for urea"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #residual-urea-clearance
* group[1].element[=].display = "Residual urea clearance"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-sessions-counted
* group[1].element[=].display = "Sessions of the week with a record"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #input-weekly-treated-time
* group[1].element[=].display = "Treated time of the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-urea-generation
* group[1].element[=].display = "Urea nitrogen generation of the urea model"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-urea-volume
* group[1].element[=].display = "Urea volume of the urea model after dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-mean-urea-before
* group[1].element[=].display = "Mean urea nitrogen in body water before dialysis by the urea model"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-time-averaged-urea
* group[1].element[=].display = "Time-averaged urea nitrogen in body water by the urea model"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-urea-pool-1
* group[1].element[=].display = "Urea nitrogen in the pool that the dialyser reaches, at the start of the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-urea-pool-2
* group[1].element[=].display = "Urea nitrogen in the pool behind it, at the start of the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-body-water
* group[1].element[=].display = "Body water at the start of the week"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-reference-weight
* group[1].element[=].display = "Body weight at which body water is the urea volume"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-clearance-factor
* group[1].element[=].display = "Clearance over the clearance from flows and KoA"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-planned-not-done
* group[1].element[=].display = "Minutes from the start of the week to a session planned and not done"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #model-fluid-gain-rate
* group[1].element[=].display = "Fluid taken to be gained a day after the last session"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #visit-report
* group[1].element[=].display = "Home haemodialysis report for the visit"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #attendance
* group[1].element[=].display = "Sessions of these days, counted"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #sessions-cut-short
* group[1].element[=].display = "Sessions cut short"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #sessions-not-done
* group[1].element[=].display = "Sessions not done"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #sessions-held-back
* group[1].element[=].display = "Sessions held back because of mistakes in the log"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-treated-time
* group[1].element[=].display = "Time treated: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-weight-after
* group[1].element[=].display = "Weight after dialysis: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-target-miss
* group[1].element[=].display = "Weight after dialysis less dry weight: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-interdialytic-weight-gain
* group[1].element[=].display = "Weight gain between sessions: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-uf-removed
* group[1].element[=].display = "Fluid removed: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-uf-rate-per-kg
* group[1].element[=].display = "UF rate per weight: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-bp-before-systolic
* group[1].element[=].display = "Systolic blood pressure before dialysis: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-bp-before-diastolic
* group[1].element[=].display = "Diastolic blood pressure before dialysis: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-lowest-systolic
* group[1].element[=].display = "Lowest systolic blood pressure during dialysis: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-venous-line-pressure
* group[1].element[=].display = "Venous line pressure at the set blood flow: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-arterial-line-pressure
* group[1].element[=].display = "Arterial line pressure at the set blood flow: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-recovery-time
* group[1].element[=].display = "Time to recover after dialysis: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-dialysate-kt-v
* group[1].element[=].display = "Kt/V of a session from dialysate: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #summary-std-kt-v-weekly
* group[1].element[=].display = "Weekly standard Kt/V by the urea model: median, least and greatest"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #urea-model-week
* group[1].element[=].display = "Week of dialysis with the urea model at its start"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #urea-model-weeks
* group[1].element[=].display = "Weeks of dialysis"
* group[1].element[=].target[0].equivalence = #unmatched

Instance: runsheet-codes-to-receiver
InstanceOf: ConceptMap
Usage: #definition
Title: "Map to fill in: our codes to the receiver's"
Description: "Every LOINC and local code that a record can hold as the code of a measurement."
* url = "https://runsheet.example/fhir/ConceptMap/runsheet-codes-to-receiver"
* version = "0.1.0"
* name = "RunsheetCodesToReceiver"
* title = "Map to fill in: our codes to the receiver's"
* status = #draft
* experimental = false
* date = "2026-11-29"
* publisher = "Runsheet"
* description = "Every LOINC and local code that a record can hold as the code of a measurement. To fill it in, state the receiver's code system as target of the group and, for each code that has one, the receiver's code and display with the equivalence equivalent. A code that stays unmatched is sent as it is. A comment is the UCUM unit of the value."
* copyright = "This material contains content from LOINC (http://loinc.org). LOINC is copyright © Regenstrief Institute, Inc. and the Logical Observation Identifiers Names and Codes (LOINC) Committee and is available at no cost under the license at http://loinc.org/license. LOINC® is a registered United States trademark of Regenstrief Institute, Inc."
* group[0].source = "urn:oid:2.25.335990940244883323309943966314996822642"
* group[0].sourceVersion = "1"
* group[0].element[+].code = #uf-goal
* group[0].element[=].display = "Ultrafiltration goal"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #oral-intake-during-dialysis
* group[0].element[=].display = "Oral intake during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #saline-given
* group[0].element[=].display = "Saline given during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #rinse-back-volume
* group[0].element[=].display = "Rinse-back volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #dialysate-volume
* group[0].element[=].display = "Dialysate volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #dialysate-flow-rate
* group[0].element[=].display = "Dialysate flow rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/min L/h"
* group[0].element[+].code = #blood-flow-rate
* group[0].element[=].display = "Blood flow rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/min L/h"
* group[0].element[+].code = #blood-volume-processed
* group[0].element[=].display = "Blood volume processed"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #treatment-time-delivered
* group[0].element[=].display = "Treatment time delivered"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "min h"
* group[0].element[+].code = #prescription-followed
* group[0].element[=].display = "Prescription followed, if not the usual one"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #dialysate-sodium
* group[0].element[=].display = "Dialysate sodium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #dialysate-potassium
* group[0].element[=].display = "Dialysate potassium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #dialysate-calcium
* group[0].element[=].display = "Dialysate calcium"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #dialysate-bicarbonate
* group[0].element[=].display = "Dialysate bicarbonate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #dialysate-lactate
* group[0].element[=].display = "Dialysate lactate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #arterial-needle-site
* group[0].element[=].display = "Place of the arterial needle"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #venous-needle-site
* group[0].element[=].display = "Place of the venous needle"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #needles-first-try
* group[0].element[=].display = "Needles in at the first try"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #access-problem
* group[0].element[=].display = "Problem with needles or catheter"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #recovery-time
* group[0].element[=].display = "Time to recover after dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "min h"
* group[0].element[+].code = #check-total-chlorine
* group[0].element[=].display = "Total chlorine of the water"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/L [ppm]"
* group[0].element[+].code = #check-water-hardness
* group[0].element[=].display = "Hardness of the water, as calcium carbonate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/L [gr]/[gal_us] [ppm] mmol/L"
* group[0].element[+].code = #check-conductivity
* group[0].element[=].display = "Dialysate conductivity measured apart from the machine"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mS/cm"
* group[0].element[+].code = #check-dialysate-batch
* group[0].element[=].display = "Dialysate batch tested"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mS/cm"
* group[0].element[+].code = #check-self-test
* group[0].element[=].display = "Machine self-test"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-disinfection
* group[0].element[=].display = "Disinfection"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-circuit-primed
* group[0].element[=].display = "Circuit primed and free of air"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-connections
* group[0].element[=].display = "Connections and clamps looked over"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-redness
* group[0].element[=].display = "Redness at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-swelling
* group[0].element[=].display = "Swelling at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-pain
* group[0].element[=].display = "Pain at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-access-thrill
* group[0].element[=].display = "Thrill felt at the access"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-needle-monitor
* group[0].element[=].display = "Monitor for a loose needle or line in place"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-supplies
* group[0].element[=].display = "Supplies looked over"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #check-other
* group[0].element[=].display = "Other check before dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #arterial-line-pressure
* group[0].element[=].display = "Arterial (pre-pump) line pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mm[Hg]"
* group[0].element[+].code = #venous-line-pressure
* group[0].element[=].display = "Venous (return) line pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mm[Hg]"
* group[0].element[+].code = #transmembrane-pressure
* group[0].element[=].display = "Transmembrane pressure"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mm[Hg]"
* group[0].element[+].code = #uf-rate
* group[0].element[=].display = "Ultrafiltration rate"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/h L/h"
* group[0].element[+].code = #uf-volume-so-far
* group[0].element[=].display = "Ultrafiltration volume so far"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L mL"
* group[0].element[+].code = #dialysate-conductivity
* group[0].element[=].display = "Dialysate conductivity"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mS/cm"
* group[0].element[+].code = #dialysate-temperature
* group[0].element[=].display = "Dialysate temperature"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "Cel"
* group[0].element[+].code = #reading-note
* group[0].element[=].display = "Note made during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #machine-alarm-number
* group[0].element[=].display = "Number of the alarm, as the machine shows it"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #machine-alarm
* group[0].element[=].display = "Machine alarm"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #symptom-during-dialysis
* group[0].element[=].display = "Symptom during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #access-event
* group[0].element[=].display = "Access event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #needle-event
* group[0].element[=].display = "Needles swapped or recirculating"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #circuit-event
* group[0].element[=].display = "Circuit event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #water-event
* group[0].element[=].display = "Water or dialysate event"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #other-event
* group[0].element[=].display = "Other event during dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #uf-rate-per-kg
* group[0].element[=].display = "Ultrafiltration rate per kg body weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/kg/h"
* group[0].element[+].code = #uf-expected-from-weights
* group[0].element[=].display = "Fluid removal expected from weights"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #uf-discrepancy
* group[0].element[=].display = "Fluid removal not accounted for"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #interdialytic-weight-gain
* group[0].element[=].display = "Interdialytic weight gain"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "kg"
* group[0].element[+].code = #interdialytic-weight-gain-percent
* group[0].element[=].display = "Interdialytic weight gain in percent of the previous post-dialysis weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "%"
* group[0].element[+].code = #target-weight-difference
* group[0].element[=].display = "Post-dialysis weight less dry weight"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "kg"
* group[0].element[+].code = #total-body-water-watson
* group[0].element[=].display = "Total body water (Watson)"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #total-body-water
* group[0].element[=].display = "Total body water"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #dialysate-saturation
* group[0].element[=].display = "Dialysate saturation with urea, estimated"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #dialysate-side-kt-v
* group[0].element[=].display = "Kt/V estimated from the dialysate side"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #spkt-v-interval-factor
* group[0].element[=].display = "Single-pool Kt/V with the generation factor of the interval"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #ekt-v
* group[0].element[=].display = "Equilibrated Kt/V"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #std-kt-v-weekly
* group[0].element[=].display = "Weekly standard Kt/V"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #sessions-done
* group[0].element[=].display = "Sessions done in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "/wk"
* group[0].element[+].code = #sessions-planned
* group[0].element[=].display = "Sessions planned for the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "/wk"
* group[0].element[+].code = #hours-done
* group[0].element[=].display = "Hours treated in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "h"
* group[0].element[+].code = #uf-done
* group[0].element[=].display = "Fluid removed in the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #ekr
* group[0].element[=].display = "Equivalent renal urea clearance"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/min"
* group[0].element[+].code = #time-averaged-urea
* group[0].element[=].display = "Time-averaged urea"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #input-age
* group[0].element[=].display = "Age at the time of treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "a"
* group[0].element[+].code = #input-sex
* group[0].element[=].display = "Sex used in the formula"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #input-previous-weight-after
* group[0].element[=].display = "Body weight after the previous dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "kg"
* group[0].element[+].code = #input-urea-before
* group[0].element[=].display = "Urea before the treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mmol/L"
* group[0].element[+].code = #input-uf-removed
* group[0].element[=].display = "Ultrafiltration volume of the whole treatment"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #input-sessions-per-week
* group[0].element[=].display = "Dialysis sessions per week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "/wk"
* group[0].element[+].code = #input-preceding-interval
* group[0].element[=].display = "Interval since the previous dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "d"
* group[0].element[+].code = #input-weekly-uf
* group[0].element[=].display = "Ultrafiltration volume of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #input-dialyser-koa
* group[0].element[=].display = "Dialyser mass transfer-area coefficient for urea"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/min"
* group[0].element[+].code = #residual-urea-clearance
* group[0].element[=].display = "Residual urea clearance"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mL/min"
* group[0].element[+].code = #input-sessions-counted
* group[0].element[=].display = "Sessions of the week with a record"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "/wk"
* group[0].element[+].code = #input-weekly-treated-time
* group[0].element[=].display = "Treated time of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "min"
* group[0].element[+].code = #model-urea-generation
* group[0].element[=].display = "Urea nitrogen generation of the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/min"
* group[0].element[+].code = #model-urea-volume
* group[0].element[=].display = "Urea volume of the urea model after dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #model-mean-urea-before
* group[0].element[=].display = "Mean urea nitrogen in body water before dialysis by the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/dL"
* group[0].element[+].code = #model-time-averaged-urea
* group[0].element[=].display = "Time-averaged urea nitrogen in body water by the urea model"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/dL"
* group[0].element[+].code = #model-urea-pool-1
* group[0].element[=].display = "Urea nitrogen in the pool that the dialyser reaches, at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/dL"
* group[0].element[+].code = #model-urea-pool-2
* group[0].element[=].display = "Urea nitrogen in the pool behind it, at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "mg/dL"
* group[0].element[+].code = #model-body-water
* group[0].element[=].display = "Body water at the start of the week"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L"
* group[0].element[+].code = #model-reference-weight
* group[0].element[=].display = "Body weight at which body water is the urea volume"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "kg"
* group[0].element[+].code = #model-clearance-factor
* group[0].element[=].display = "Clearance over the clearance from flows and KoA"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "1"
* group[0].element[+].code = #model-planned-not-done
* group[0].element[=].display = "Minutes from the start of the week to a session planned and not done"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "min"
* group[0].element[+].code = #model-fluid-gain-rate
* group[0].element[=].display = "Fluid taken to be gained a day after the last session"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[=].target[0].comment = "L/d"
* group[0].element[+].code = #visit-report
* group[0].element[=].display = "Home haemodialysis report for the visit"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #attendance
* group[0].element[=].display = "Sessions of these days, counted"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-cut-short
* group[0].element[=].display = "Sessions cut short"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-not-done
* group[0].element[=].display = "Sessions not done"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #sessions-held-back
* group[0].element[=].display = "Sessions held back because of mistakes in the log"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-treated-time
* group[0].element[=].display = "Time treated: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-weight-after
* group[0].element[=].display = "Weight after dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-target-miss
* group[0].element[=].display = "Weight after dialysis less dry weight: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-interdialytic-weight-gain
* group[0].element[=].display = "Weight gain between sessions: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-uf-removed
* group[0].element[=].display = "Fluid removed: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-uf-rate-per-kg
* group[0].element[=].display = "UF rate per weight: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-bp-before-systolic
* group[0].element[=].display = "Systolic blood pressure before dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-bp-before-diastolic
* group[0].element[=].display = "Diastolic blood pressure before dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-lowest-systolic
* group[0].element[=].display = "Lowest systolic blood pressure during dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-venous-line-pressure
* group[0].element[=].display = "Venous line pressure at the set blood flow: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-arterial-line-pressure
* group[0].element[=].display = "Arterial line pressure at the set blood flow: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-recovery-time
* group[0].element[=].display = "Time to recover after dialysis: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-dialysate-kt-v
* group[0].element[=].display = "Kt/V of a session from dialysate: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #summary-std-kt-v-weekly
* group[0].element[=].display = "Weekly standard Kt/V by the urea model: median, least and greatest"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #urea-model-week
* group[0].element[=].display = "Week of dialysis with the urea model at its start"
* group[0].element[=].target[0].equivalence = #unmatched
* group[0].element[+].code = #urea-model-weeks
* group[0].element[=].display = "Weeks of dialysis"
* group[0].element[=].target[0].equivalence = #unmatched
* group[1].source = "http://loinc.org"
* group[1].element[+].code = #29463-7
* group[1].element[=].display = "Body weight"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "kg g [lb_av]"
* group[1].element[+].code = #8347-7
* group[1].element[=].display = "Body weight Measured --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "kg g [lb_av]"
* group[1].element[+].code = #8867-4
* group[1].element[=].display = "Heart rate"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "/min"
* group[1].element[+].code = #8310-5
* group[1].element[=].display = "Body temperature"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "Cel [degF]"
* group[1].element[+].code = #8344-4
* group[1].element[=].display = "Body weight Measured --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "kg g [lb_av]"
* group[1].element[+].code = #8340-2
* group[1].element[=].display = "Dry body weight Estimated"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "kg [lb_av]"
* group[1].element[+].code = #99741-1
* group[1].element[=].display = "Ultrafiltrate volume removed"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "L mL"
* group[1].element[+].code = #9187-6
* group[1].element[=].display = "Urine output"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "L mL"
* group[1].element[+].code = #22664-7
* group[1].element[=].display = "Urea [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #3091-6
* group[1].element[=].display = "Urea [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #39777-8
* group[1].element[=].display = "Urea [Moles/volume] in Serum or Plasma --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #39776-0
* group[1].element[=].display = "Urea [Moles/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #3094-0
* group[1].element[=].display = "Urea nitrogen [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #14937-7
* group[1].element[=].display = "Urea nitrogen [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #11065-0
* group[1].element[=].display = "Urea nitrogen [Mass/volume] in Serum or Plasma --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #11064-3
* group[1].element[=].display = "Urea nitrogen [Mass/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #2160-0
* group[1].element[=].display = "Creatinine [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #14682-9
* group[1].element[=].display = "Creatinine [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "umol/L mmol/L"
* group[1].element[+].code = #11042-9
* group[1].element[=].display = "Creatinine [Mass/volume] in Serum or Plasma --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #51619-5
* group[1].element[=].display = "Creatinine [Moles/volume] in Serum or Plasma --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "umol/L mmol/L"
* group[1].element[+].code = #11041-1
* group[1].element[=].display = "Creatinine [Mass/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #51620-3
* group[1].element[=].display = "Creatinine [Moles/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "umol/L mmol/L"
* group[1].element[+].code = #2823-3
* group[1].element[=].display = "Potassium [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L meq/L"
* group[1].element[+].code = #51618-7
* group[1].element[=].display = "Potassium [Moles/volume] in Serum or Plasma --pre dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L meq/L"
* group[1].element[+].code = #29349-8
* group[1].element[=].display = "Potassium [Moles/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L meq/L"
* group[1].element[+].code = #718-7
* group[1].element[=].display = "Hemoglobin [Mass/volume] in Blood"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "g/L g/dL"
* group[1].element[+].code = #59260-0
* group[1].element[=].display = "Hemoglobin [Moles/volume] in Blood"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #14879-1
* group[1].element[=].display = "Phosphate [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #2777-1
* group[1].element[=].display = "Phosphate [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #55972-4
* group[1].element[=].display = "Phosphate [Moles/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #48617-5
* group[1].element[=].display = "Phosphate [Mass/volume] in Serum or Plasma --post dialysis"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #1963-8
* group[1].element[=].display = "Bicarbonate [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L meq/L"
* group[1].element[+].code = #2951-2
* group[1].element[=].display = "Sodium [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L meq/L"
* group[1].element[+].code = #1751-7
* group[1].element[=].display = "Albumin [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "g/L g/dL"
* group[1].element[+].code = #2000-8
* group[1].element[=].display = "Calcium [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #17861-6
* group[1].element[=].display = "Calcium [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #2601-3
* group[1].element[=].display = "Magnesium [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mmol/L"
* group[1].element[+].code = #19123-9
* group[1].element[=].display = "Magnesium [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/dL"
* group[1].element[+].code = #2276-4
* group[1].element[=].display = "Ferritin [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "ug/L ng/mL"
* group[1].element[+].code = #1988-5
* group[1].element[=].display = "C reactive protein [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/L mg/dL"
* group[1].element[+].code = #2731-8
* group[1].element[=].display = "Parathyrin.intact [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "pg/mL ng/L"
* group[1].element[+].code = #14866-8
* group[1].element[=].display = "Parathyrin.intact [Moles/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "pmol/L"
* group[1].element[+].code = #1952-1
* group[1].element[=].display = "Beta-2-Microglobulin [Mass/volume] in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mg/L ug/mL"
* group[1].element[+].code = #54456-9
* group[1].element[=].display = "Urea reduction ratio in Serum or Plasma"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "%"
* group[1].element[+].code = #70965-9
* group[1].element[=].display = "Kt/V.Hemodialysis [Daugirdas II]"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "1"
* group[1].element[+].code = #70959-2
* group[1].element[=].display = "Protein catabolic rate adjusted for body weight based on Serum or Plasma [Calculated]"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "g/kg/d"
* group[1].element[+].code = #85354-9
* group[1].element[=].display = "Blood pressure panel with all children optional"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #8480-6
* group[1].element[=].display = "Systolic blood pressure"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mm[Hg]"
* group[1].element[+].code = #8462-4
* group[1].element[=].display = "Diastolic blood pressure"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "mm[Hg]"
* group[1].element[+].code = #70300-9
* group[1].element[=].display = "ESRD dialysis adequacy panel"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[+].code = #8302-2
* group[1].element[=].display = "Body height"
* group[1].element[=].target[0].equivalence = #unmatched
* group[1].element[=].target[0].comment = "cm"
