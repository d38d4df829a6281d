// Code systems the profiles use, and the two of our own.

Alias: $LNC = http://loinc.org
Alias: $SCT = http://snomed.info/sct
Alias: $UCUM = http://unitsofmeasure.org
Alias: $category = http://terminology.hl7.org/CodeSystem/observation-category
Alias: $statistics = http://terminology.hl7.org/CodeSystem/observation-statistics
Alias: $diagnosticService = http://terminology.hl7.org/CodeSystem/v2-0074
Alias: $absent = http://terminology.hl7.org/CodeSystem/data-absent-reason
Alias: $observationValue = http://terminology.hl7.org/CodeSystem/v3-ObservationValue
Alias: $participant = http://terminology.hl7.org/CodeSystem/provenance-participant-type
Alias: $dataOperation = http://terminology.hl7.org/CodeSystem/v3-DataOperation
Alias: $route = http://terminology.hl7.org/CodeSystem/v3-RouteOfAdministration
Alias: $bodyPosition = http://hl7.org/fhir/StructureDefinition/observation-bodyPosition
Alias: $expectation = http://hl7.org/fhir/StructureDefinition/capabilitystatement-expectation
Alias: $local = urn:oid:2.25.335990940244883323309943966314996822642
Alias: $algorithm = urn:oid:2.25.126534698663615512692703441983600176732
