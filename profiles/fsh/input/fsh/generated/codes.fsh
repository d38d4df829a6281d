// Made from the Go tables by profiles/fsh/gen. Do not edit.

CodeSystem: RunsheetCodes
Id: runsheet-codes
Title: "Home haemodialysis codes"
Description: "Codes for values, events and inputs of a home haemodialysis session for which no standard code was found. Sent with text, and with display unless a receiver asks for none."
* ^url = "urn:oid:2.25.335990940244883323309943966314996822642"
* ^version = "1"
* ^content = #complete
* ^caseSensitive = true
* ^versionNeeded = false
* ^experimental = false
* ^property[0].code = #ucum-unit
* ^property[0].description = "UCUM unit the value may be written in, the preferred one first"
* ^property[0].type = #string
* ^property[1].code = #expected-sign
* ^property[1].description = "The sign a value normally has, where it is negative"
* ^property[1].type = #string
* #uf-goal "Ultrafiltration goal" "Fluid removal programmed"
* #uf-goal ^property[0].code = #ucum-unit
* #uf-goal ^property[0].valueString = "L"
* #uf-goal ^property[1].code = #ucum-unit
* #uf-goal ^property[1].valueString = "mL"
* #oral-intake-during-dialysis "Oral intake during dialysis" "Drinks and food during dialysis"
* #oral-intake-during-dialysis ^property[0].code = #ucum-unit
* #oral-intake-during-dialysis ^property[0].valueString = "L"
* #oral-intake-during-dialysis ^property[1].code = #ucum-unit
* #oral-intake-during-dialysis ^property[1].valueString = "mL"
* #saline-given "Saline given during dialysis" "Saline given during dialysis"
* #saline-given ^property[0].code = #ucum-unit
* #saline-given ^property[0].valueString = "L"
* #saline-given ^property[1].code = #ucum-unit
* #saline-given ^property[1].valueString = "mL"
* #rinse-back-volume "Rinse-back volume" "Rinse-back volume"
* #rinse-back-volume ^property[0].code = #ucum-unit
* #rinse-back-volume ^property[0].valueString = "L"
* #rinse-back-volume ^property[1].code = #ucum-unit
* #rinse-back-volume ^property[1].valueString = "mL"
* #dialysate-volume "Dialysate volume" "Dialysate used"
* #dialysate-volume ^property[0].code = #ucum-unit
* #dialysate-volume ^property[0].valueString = "L"
* #dialysate-volume ^property[1].code = #ucum-unit
* #dialysate-volume ^property[1].valueString = "mL"
* #dialysate-flow-rate "Dialysate flow rate" "Dialysate flow"
* #dialysate-flow-rate ^property[0].code = #ucum-unit
* #dialysate-flow-rate ^property[0].valueString = "mL/min"
* #dialysate-flow-rate ^property[1].code = #ucum-unit
* #dialysate-flow-rate ^property[1].valueString = "L/h"
* #blood-flow-rate "Blood flow rate" "Blood flow"
* #blood-flow-rate ^property[0].code = #ucum-unit
* #blood-flow-rate ^property[0].valueString = "mL/min"
* #blood-flow-rate ^property[1].code = #ucum-unit
* #blood-flow-rate ^property[1].valueString = "L/h"
* #blood-volume-processed "Blood volume processed" "Blood volume processed"
* #blood-volume-processed ^property[0].code = #ucum-unit
* #blood-volume-processed ^property[0].valueString = "L"
* #blood-volume-processed ^property[1].code = #ucum-unit
* #blood-volume-processed ^property[1].valueString = "mL"
* #treatment-time-delivered "Treatment time delivered" "Treatment time delivered"
* #treatment-time-delivered ^property[0].code = #ucum-unit
* #treatment-time-delivered ^property[0].valueString = "min"
* #treatment-time-delivered ^property[1].code = #ucum-unit
* #treatment-time-delivered ^property[1].valueString = "h"
* #prescription-followed "Prescription followed, if not the usual one" "Prescription followed, if not the usual one"
* #dialysate-sodium "Dialysate sodium" "Sodium of the dialysate"
* #dialysate-sodium ^property[0].code = #ucum-unit
* #dialysate-sodium ^property[0].valueString = "mmol/L"
* #dialysate-potassium "Dialysate potassium" "Potassium of the dialysate"
* #dialysate-potassium ^property[0].code = #ucum-unit
* #dialysate-potassium ^property[0].valueString = "mmol/L"
* #dialysate-calcium "Dialysate calcium" "Calcium of the dialysate"
* #dialysate-calcium ^property[0].code = #ucum-unit
* #dialysate-calcium ^property[0].valueString = "mmol/L"
* #dialysate-bicarbonate "Dialysate bicarbonate" "Bicarbonate of the dialysate"
* #dialysate-bicarbonate ^property[0].code = #ucum-unit
* #dialysate-bicarbonate ^property[0].valueString = "mmol/L"
* #dialysate-lactate "Dialysate lactate" "Lactate of the dialysate"
* #dialysate-lactate ^property[0].code = #ucum-unit
* #dialysate-lactate ^property[0].valueString = "mmol/L"
* #arterial-needle-site "Place of the arterial needle" "Place of the arterial needle"
* #venous-needle-site "Place of the venous needle" "Place of the venous needle"
* #needles-first-try "Needles in at the first try" "Needles in at the first try"
* #access-problem "Problem with needles or catheter" "Problem with needles or catheter"
* #recovery-time "Time to recover after dialysis" "Time to recover after dialysis"
* #recovery-time ^property[0].code = #ucum-unit
* #recovery-time ^property[0].valueString = "min"
* #recovery-time ^property[1].code = #ucum-unit
* #recovery-time ^property[1].valueString = "h"
* #check-total-chlorine "Total chlorine of the water" "Total chlorine of the water"
* #check-total-chlorine ^property[0].code = #ucum-unit
* #check-total-chlorine ^property[0].valueString = "mg/L"
* #check-total-chlorine ^property[1].code = #ucum-unit
* #check-total-chlorine ^property[1].valueString = "[ppm]"
* #check-water-hardness "Hardness of the water, as calcium carbonate" "Hardness of the water, as calcium carbonate"
* #check-water-hardness ^property[0].code = #ucum-unit
* #check-water-hardness ^property[0].valueString = "mg/L"
* #check-water-hardness ^property[1].code = #ucum-unit
* #check-water-hardness ^property[1].valueString = "[gr]/[gal_us]"
* #check-water-hardness ^property[2].code = #ucum-unit
* #check-water-hardness ^property[2].valueString = "[ppm]"
* #check-water-hardness ^property[3].code = #ucum-unit
* #check-water-hardness ^property[3].valueString = "mmol/L"
* #check-conductivity "Dialysate conductivity measured apart from the machine" "Dialysate conductivity measured apart from the machine"
* #check-conductivity ^property[0].code = #ucum-unit
* #check-conductivity ^property[0].valueString = "mS/cm"
* #check-dialysate-batch "Dialysate batch tested" "Dialysate batch tested"
* #check-dialysate-batch ^property[0].code = #ucum-unit
* #check-dialysate-batch ^property[0].valueString = "mS/cm"
* #check-self-test "Machine self-test" "Machine self-test"
* #check-disinfection "Disinfection" "Disinfection"
* #check-circuit-primed "Circuit primed and free of air" "Circuit primed and free of air"
* #check-connections "Connections and clamps looked over" "Connections and clamps looked over"
* #check-access-redness "Redness at the access" "Redness at the access"
* #check-access-swelling "Swelling at the access" "Swelling at the access"
* #check-access-pain "Pain at the access" "Pain at the access"
* #check-access-thrill "Thrill felt at the access" "Thrill felt at the access"
* #check-needle-monitor "Monitor for a loose needle or line in place" "Monitor for a loose needle or line in place"
* #check-supplies "Supplies looked over" "Supplies looked over"
* #check-other "Other check before dialysis" "Other check before dialysis"
* #arterial-line-pressure "Arterial (pre-pump) line pressure" "Arterial (pre-pump) line pressure"
* #arterial-line-pressure ^property[0].code = #ucum-unit
* #arterial-line-pressure ^property[0].valueString = "mm[Hg]"
* #arterial-line-pressure ^property[1].code = #expected-sign
* #arterial-line-pressure ^property[1].valueString = "negative"
* #venous-line-pressure "Venous (return) line pressure" "Venous (return) line pressure"
* #venous-line-pressure ^property[0].code = #ucum-unit
* #venous-line-pressure ^property[0].valueString = "mm[Hg]"
* #transmembrane-pressure "Transmembrane pressure" "Transmembrane pressure"
* #transmembrane-pressure ^property[0].code = #ucum-unit
* #transmembrane-pressure ^property[0].valueString = "mm[Hg]"
* #uf-rate "Ultrafiltration rate" "Ultrafiltration rate"
* #uf-rate ^property[0].code = #ucum-unit
* #uf-rate ^property[0].valueString = "mL/h"
* #uf-rate ^property[1].code = #ucum-unit
* #uf-rate ^property[1].valueString = "L/h"
* #uf-volume-so-far "Ultrafiltration volume so far" "Fluid removed so far"
* #uf-volume-so-far ^property[0].code = #ucum-unit
* #uf-volume-so-far ^property[0].valueString = "L"
* #uf-volume-so-far ^property[1].code = #ucum-unit
* #uf-volume-so-far ^property[1].valueString = "mL"
* #dialysate-conductivity "Dialysate conductivity" "Dialysate conductivity"
* #dialysate-conductivity ^property[0].code = #ucum-unit
* #dialysate-conductivity ^property[0].valueString = "mS/cm"
* #dialysate-temperature "Dialysate temperature" "Dialysate temperature"
* #dialysate-temperature ^property[0].code = #ucum-unit
* #dialysate-temperature ^property[0].valueString = "Cel"
* #reading-note "Note made during dialysis" "Note made during dialysis"
* #machine-alarm-number "Number of the alarm, as the machine shows it" "Number of the alarm, as the machine shows it"
* #machine-alarm "Machine alarm" "Machine alarm"
* #symptom-during-dialysis "Symptom during dialysis" "Symptom during dialysis"
* #access-event "Access event" "Event at the access"
* #needle-event "Needles swapped or recirculating" "Needles swapped or blood recirculating"
* #circuit-event "Circuit event" "Event in the blood circuit"
* #water-event "Water or dialysate event" "Event with water or dialysate"
* #other-event "Other event during dialysis" "Other event during dialysis"
* #uf-rate-per-kg "Ultrafiltration rate per kg body weight" "Ultrafiltration rate per kg body weight, calculated"
* #uf-rate-per-kg ^property[0].code = #ucum-unit
* #uf-rate-per-kg ^property[0].valueString = "mL/kg/h"
* #uf-expected-from-weights "Fluid removal expected from weights" "Fluid removal that the weights and fluids given account for, calculated"
* #uf-expected-from-weights ^property[0].code = #ucum-unit
* #uf-expected-from-weights ^property[0].valueString = "L"
* #uf-discrepancy "Fluid removal not accounted for" "Fluid removed less fluid removal expected from weights, calculated"
* #uf-discrepancy ^property[0].code = #ucum-unit
* #uf-discrepancy ^property[0].valueString = "L"
* #interdialytic-weight-gain "Interdialytic weight gain" "Interdialytic weight gain, calculated"
* #interdialytic-weight-gain ^property[0].code = #ucum-unit
* #interdialytic-weight-gain ^property[0].valueString = "kg"
* #interdialytic-weight-gain-percent "Interdialytic weight gain in percent of the previous post-dialysis weight" "Interdialytic weight gain in percent, calculated"
* #interdialytic-weight-gain-percent ^property[0].code = #ucum-unit
* #interdialytic-weight-gain-percent ^property[0].valueString = "%"
* #target-weight-difference "Post-dialysis weight less dry weight" "Post-dialysis weight less dry weight, calculated"
* #target-weight-difference ^property[0].code = #ucum-unit
* #target-weight-difference ^property[0].valueString = "kg"
* #total-body-water-watson "Total body water (Watson)" "Total body water, calculated (Watson)"
* #total-body-water-watson ^property[0].code = #ucum-unit
* #total-body-water-watson ^property[0].valueString = "L"
* #total-body-water "Total body water" "Total body water, calculated"
* #total-body-water ^property[0].code = #ucum-unit
* #total-body-water ^property[0].valueString = "L"
* #dialysate-saturation "Dialysate saturation with urea, estimated" "Dialysate saturation with urea, estimated from flows and KoA"
* #dialysate-saturation ^property[0].code = #ucum-unit
* #dialysate-saturation ^property[0].valueString = "1"
* #dialysate-side-kt-v "Kt/V estimated from the dialysate side" "Kt/V estimated from the dialysate side, calculated; not a blood-side spKt/V"
* #dialysate-side-kt-v ^property[0].code = #ucum-unit
* #dialysate-side-kt-v ^property[0].valueString = "1"
* #spkt-v-interval-factor "Single-pool Kt/V with the generation factor of the interval" "Single-pool Kt/V (generation factor of the preceding interval), calculated"
* #spkt-v-interval-factor ^property[0].code = #ucum-unit
* #spkt-v-interval-factor ^property[0].valueString = "1"
* #ekt-v "Equilibrated Kt/V" "Equilibrated Kt/V, calculated"
* #ekt-v ^property[0].code = #ucum-unit
* #ekt-v ^property[0].valueString = "1"
* #std-kt-v-weekly "Weekly standard Kt/V" "Weekly standard Kt/V, calculated"
* #std-kt-v-weekly ^property[0].code = #ucum-unit
* #std-kt-v-weekly ^property[0].valueString = "1"
* #sessions-done "Sessions done in the week" "Dialysis sessions done in the week, counted"
* #sessions-done ^property[0].code = #ucum-unit
* #sessions-done ^property[0].valueString = "/wk"
* #sessions-planned "Sessions planned for the week" "Dialysis sessions planned for the week, by the prescription"
* #sessions-planned ^property[0].code = #ucum-unit
* #sessions-planned ^property[0].valueString = "/wk"
* #hours-done "Hours treated in the week" "Hours of dialysis in the week, calculated"
* #hours-done ^property[0].code = #ucum-unit
* #hours-done ^property[0].valueString = "h"
* #uf-done "Fluid removed in the week" "Fluid removed by ultrafiltration in the week, calculated"
* #uf-done ^property[0].code = #ucum-unit
* #uf-done ^property[0].valueString = "L"
* #ekr "Equivalent renal urea clearance" "Equivalent renal urea clearance, calculated"
* #ekr ^property[0].code = #ucum-unit
* #ekr ^property[0].valueString = "mL/min"
* #time-averaged-urea "Time-averaged urea" "Time-averaged urea in plasma, calculated by the urea model"
* #time-averaged-urea ^property[0].code = #ucum-unit
* #time-averaged-urea ^property[0].valueString = "mmol/L"
* #input-age "Age at the time of treatment" "Age at the time of treatment, stated as an input of a computed value"
* #input-age ^property[0].code = #ucum-unit
* #input-age ^property[0].valueString = "a"
* #input-sex "Sex used in the formula" "Sex used in the formula, stated as an input of a computed value"
* #input-previous-weight-after "Body weight after the previous dialysis" "Body weight after the previous dialysis, stated as an input of a computed value"
* #input-previous-weight-after ^property[0].code = #ucum-unit
* #input-previous-weight-after ^property[0].valueString = "kg"
* #input-urea-before "Urea before the treatment" "Urea before the treatment, stated as an input of a computed value"
* #input-urea-before ^property[0].code = #ucum-unit
* #input-urea-before ^property[0].valueString = "mmol/L"
* #input-uf-removed "Ultrafiltration volume of the whole treatment" "Ultrafiltration volume of the whole treatment, stated as an input of a computed value"
* #input-uf-removed ^property[0].code = #ucum-unit
* #input-uf-removed ^property[0].valueString = "L"
* #input-sessions-per-week "Dialysis sessions per week" "Dialysis sessions per week, stated as an input of a computed value"
* #input-sessions-per-week ^property[0].code = #ucum-unit
* #input-sessions-per-week ^property[0].valueString = "/wk"
* #input-preceding-interval "Interval since the previous dialysis" "Interval since the previous dialysis, stated as an input of a computed value"
* #input-preceding-interval ^property[0].code = #ucum-unit
* #input-preceding-interval ^property[0].valueString = "d"
* #input-weekly-uf "Ultrafiltration volume of the week" "Ultrafiltration volume of the week, stated as an input of a computed value"
* #input-weekly-uf ^property[0].code = #ucum-unit
* #input-weekly-uf ^property[0].valueString = "L"
* #input-dialyser-koa "Dialyser mass transfer-area coefficient for urea" "Dialyser mass transfer-area coefficient for urea, stated as an input of a computed value"
* #input-dialyser-koa ^property[0].code = #ucum-unit
* #input-dialyser-koa ^property[0].valueString = "mL/min"
* #residual-urea-clearance "Residual urea clearance" "Residual urea clearance, stated as an input of a computed value"
* #residual-urea-clearance ^property[0].code = #ucum-unit
* #residual-urea-clearance ^property[0].valueString = "mL/min"
* #input-sessions-counted "Sessions of the week with a record" "Sessions of the week with a record, stated as an input of a computed value"
* #input-sessions-counted ^property[0].code = #ucum-unit
* #input-sessions-counted ^property[0].valueString = "/wk"
* #input-weekly-treated-time "Treated time of the week" "Treated time of the week, stated as an input of a computed value"
* #input-weekly-treated-time ^property[0].code = #ucum-unit
* #input-weekly-treated-time ^property[0].valueString = "min"
* #model-urea-generation "Urea nitrogen generation of the urea model" "Urea nitrogen generation of the urea model, stated as an input of a computed value"
* #model-urea-generation ^property[0].code = #ucum-unit
* #model-urea-generation ^property[0].valueString = "mg/min"
* #model-urea-volume "Urea volume of the urea model after dialysis" "Urea volume of the urea model after dialysis, stated as an input of a computed value"
* #model-urea-volume ^property[0].code = #ucum-unit
* #model-urea-volume ^property[0].valueString = "L"
* #model-mean-urea-before "Mean urea nitrogen in body water before dialysis by the urea model" "Mean urea nitrogen in body water before dialysis by the urea model, stated as an input of a computed value"
* #model-mean-urea-before ^property[0].code = #ucum-unit
* #model-mean-urea-before ^property[0].valueString = "mg/dL"
* #model-time-averaged-urea "Time-averaged urea nitrogen in body water by the urea model" "Time-averaged urea nitrogen in body water by the urea model, stated as an input of a computed value"
* #model-time-averaged-urea ^property[0].code = #ucum-unit
* #model-time-averaged-urea ^property[0].valueString = "mg/dL"
* #model-urea-pool-1 "Urea nitrogen in the pool that the dialyser reaches, at the start of the week" "Urea nitrogen in the pool that the dialyser reaches, at the start of the week, stated as an input of a computed value"
* #model-urea-pool-1 ^property[0].code = #ucum-unit
* #model-urea-pool-1 ^property[0].valueString = "mg/dL"
* #model-urea-pool-2 "Urea nitrogen in the pool behind it, at the start of the week" "Urea nitrogen in the pool behind it, at the start of the week, stated as an input of a computed value"
* #model-urea-pool-2 ^property[0].code = #ucum-unit
* #model-urea-pool-2 ^property[0].valueString = "mg/dL"
* #model-body-water "Body water at the start of the week" "Body water at the start of the week, stated as an input of a computed value"
* #model-body-water ^property[0].code = #ucum-unit
* #model-body-water ^property[0].valueString = "L"
* #model-reference-weight "Body weight at which body water is the urea volume" "Body weight at which body water is the urea volume, stated as an input of a computed value"
* #model-reference-weight ^property[0].code = #ucum-unit
* #model-reference-weight ^property[0].valueString = "kg"
* #model-clearance-factor "Clearance over the clearance from flows and KoA" "Clearance over the clearance from flows and KoA, stated as an input of a computed value"
* #model-clearance-factor ^property[0].code = #ucum-unit
* #model-clearance-factor ^property[0].valueString = "1"
* #model-planned-not-done "Minutes from the start of the week to a session planned and not done" "Minutes from the start of the week to a session planned and not done, stated as an input of a computed value"
* #model-planned-not-done ^property[0].code = #ucum-unit
* #model-planned-not-done ^property[0].valueString = "min"
* #model-fluid-gain-rate "Fluid taken to be gained a day after the last session" "Fluid taken to be gained a day after the last session, stated as an input of a computed value"
* #model-fluid-gain-rate ^property[0].code = #ucum-unit
* #model-fluid-gain-rate ^property[0].valueString = "L/d"
* #visit-report "Home haemodialysis report for the visit" "Home haemodialysis report for the visit, of the sessions of some days"
* #attendance "Sessions of these days, counted" "Sessions of these days, counted, of the sessions of some days"
* #sessions-cut-short "Sessions cut short" "Sessions cut short, of the sessions of some days"
* #sessions-not-done "Sessions not done" "Sessions not done, of the sessions of some days"
* #sessions-held-back "Sessions held back because of mistakes in the log" "Sessions held back because of mistakes in the log, of the sessions of some days"
* #summary-treated-time "Time treated: median, least and greatest" "Time treated: median, least and greatest, of the sessions of some days"
* #summary-weight-after "Weight after dialysis: median, least and greatest" "Weight after dialysis: median, least and greatest, of the sessions of some days"
* #summary-target-miss "Weight after dialysis less dry weight: median, least and greatest" "Weight after dialysis less dry weight: median, least and greatest, of the sessions of some days"
* #summary-interdialytic-weight-gain "Weight gain between sessions: median, least and greatest" "Weight gain between sessions: median, least and greatest, of the sessions of some days"
* #summary-uf-removed "Fluid removed: median, least and greatest" "Fluid removed: median, least and greatest, of the sessions of some days"
* #summary-uf-rate-per-kg "UF rate per weight: median, least and greatest" "UF rate per weight: median, least and greatest, of the sessions of some days"
* #summary-bp-before-systolic "Systolic blood pressure before dialysis: median, least and greatest" "Systolic blood pressure before dialysis: median, least and greatest, of the sessions of some days"
* #summary-bp-before-diastolic "Diastolic blood pressure before dialysis: median, least and greatest" "Diastolic blood pressure before dialysis: median, least and greatest, of the sessions of some days"
* #summary-lowest-systolic "Lowest systolic blood pressure during dialysis: median, least and greatest" "Lowest systolic blood pressure during dialysis: median, least and greatest, of the sessions of some days"
* #summary-venous-line-pressure "Venous line pressure at the set blood flow: median, least and greatest" "Venous line pressure at the set blood flow: median, least and greatest, of the sessions of some days"
* #summary-arterial-line-pressure "Arterial line pressure at the set blood flow: median, least and greatest" "Arterial line pressure at the set blood flow: median, least and greatest, of the sessions of some days"
* #summary-recovery-time "Time to recover after dialysis: median, least and greatest" "Time to recover after dialysis: median, least and greatest, of the sessions of some days"
* #summary-dialysate-kt-v "Kt/V of a session from dialysate: median, least and greatest" "Kt/V of a session from dialysate: median, least and greatest, of the sessions of some days"
* #summary-std-kt-v-weekly "Weekly standard Kt/V by the urea model: median, least and greatest" "Weekly standard Kt/V by the urea model: median, least and greatest, of the sessions of some days"
* #urea-model-week "Week of dialysis with the urea model at its start" "Week of dialysis with the urea model at its start, which gathers computed values"
* #urea-model-weeks "Weeks of dialysis" "Weeks of dialysis, which gathers computed values"
