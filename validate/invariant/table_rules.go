package invariant

import "runsheet.example/validate/structure"

// rulesOf returns the invariants of a type, without those of every element
// and every DomainResource.
func rulesOf(t structure.Type) []rule {
	switch t {
	case structure.Age:
		return ageRules
	case structure.AllergyIntolerance:
		return allergyRules
	case structure.Appointment:
		return appointmentRules
	case structure.AppointmentParticipant:
		return appointmentParticipantRules
	case structure.AppointmentResponse:
		return appointmentResponseRules
	case structure.Attachment:
		return attachmentRules
	case structure.AuditEventEntity:
		return auditEntityRules
	case structure.Bundle:
		return bundleRules
	case structure.BundleEntry:
		return entryRules
	case structure.CapabilityStatement:
		return capabilityRules
	case structure.CapabilityStatementRest:
		return restRules
	case structure.CapabilityStatementRestResource:
		return restResourceRules
	case structure.CarePlanActivity:
		return carePlanActivityRules
	case structure.CareTeamParticipant:
		return careTeamParticipantRules
	case structure.CodeSystem:
		return codeSystemRules
	case structure.CompositionSection:
		return sectionRules
	case structure.ConceptMapGroupElementTarget:
		return conceptTargetRules
	case structure.ConceptMapGroupUnmapped:
		return unmappedRules
	case structure.Condition:
		return conditionRules
	case structure.ConditionEvidence:
		return conditionEvidenceRules
	case structure.ConditionStage:
		return conditionStageRules
	case structure.Consent:
		return consentRules
	case structure.ContactPoint:
		return contactPointRules
	case structure.Count:
		return countRules
	case structure.CoverageEligibilityResponseInsuranceItem:
		return eligibilityItemRules
	case structure.DataRequirementCodeFilter:
		return codeFilterRules
	case structure.DataRequirementDateFilter:
		return dateFilterRules
	case structure.Distance:
		return distanceRules
	case structure.Duration:
		return durationRules
	case structure.ElementDefinition:
		return elementRules
	case structure.ElementDefinitionBinding:
		return bindingRules
	case structure.ElementDefinitionConstraint:
		return constraintRules
	case structure.ElementDefinitionSlicing:
		return slicingRules
	case structure.ElementDefinitionType:
		return elementTypeRules
	case structure.Expression:
		return expressionRules
	case structure.Extension:
		return extensionRules
	case structure.FamilyMemberHistory:
		return familyHistoryRules
	case structure.GoalTarget:
		return goalTargetRules
	case structure.Group:
		return groupRules
	case structure.ImmunizationEducation:
		return immunizationEducationRules
	case structure.ImmunizationRecommendationRecommendation:
		return recommendationRules
	case structure.ImplementationGuide:
		return implementationGuideRules
	case structure.ImplementationGuideDefinition:
		return guideDefinitionRules
	case structure.InsurancePlan:
		return insurancePlanRules
	case structure.Linkage:
		return linkageRules
	case structure.List:
		return listRules
	case structure.Measure:
		return measureRules
	case structure.MeasureReport:
		return measureReportRules
	case structure.MedicationAdministrationDosage:
		return dosageAdministrationRules
	case structure.MedicationDispense:
		return medicationDispenseRules
	case structure.MessageDefinitionFocus:
		return messageFocusRules
	case structure.MolecularSequence:
		return sequenceRules
	case structure.MolecularSequenceReferenceSeq:
		return referenceSequenceRules
	case structure.NamingSystem:
		return namingSystemRules
	case structure.NutritionOrder:
		return nutritionOrderRules
	case structure.Observation:
		return observationRules
	case structure.ObservationReferenceRange:
		return referenceRangeRules
	case structure.OperationDefinition:
		return operationRules
	case structure.OperationDefinitionParameter:
		return operationParameterRules
	case structure.Organization:
		return organizationRules
	case structure.ParametersParameter:
		return parameterRules
	case structure.PatientContact:
		return patientContactRules
	case structure.Period:
		return periodRules
	case structure.Quantity:
		return quantityRules
	case structure.Questionnaire:
		return questionnaireRules
	case structure.QuestionnaireItem:
		return questionnaireItemRules
	case structure.QuestionnaireItemEnableWhen:
		return enableWhenRules
	case structure.QuestionnaireResponseItem:
		return responseItemRules
	case structure.Range:
		return rangeRules
	case structure.Ratio:
		return ratioRules
	case structure.Reference:
		return referenceRules
	case structure.RequestGroupAction:
		return requestActionRules
	case structure.RiskAssessmentPrediction:
		return predictionRules
	case structure.SearchParameter:
		return searchParameterRules
	case structure.ServiceRequest:
		return serviceRequestRules
	case structure.SimpleQuantity:
		return simpleQuantityRules
	case structure.StructureDefinition:
		return structureDefinitionRules
	case structure.StructureDefinitionDifferential:
		return differentialRules
	case structure.StructureDefinitionMapping:
		return definitionMappingRules
	case structure.StructureDefinitionSnapshot:
		return snapshotRules
	case structure.StructureMapGroupRuleTarget:
		return structureMapTargetRules
	case structure.Task:
		return taskRules
	case structure.TerminologyCapabilities:
		return terminologyRules
	case structure.TerminologyCapabilitiesCodeSystem:
		return terminologyCodeSystemRules
	case structure.TestReportSetupAction:
		return reportSetupRules
	case structure.TestReportTestAction:
		return reportTestRules
	case structure.TestScriptMetadata:
		return testMetadataRules
	case structure.TestScriptSetupAction:
		return testSetupActionRules
	case structure.TestScriptSetupActionAssert:
		return testAssertRules
	case structure.TestScriptSetupActionOperation:
		return testOperationRules
	case structure.TestScriptTestAction:
		return testActionRules
	case structure.TestScriptVariable:
		return testVariableRules
	case structure.TimingRepeat:
		return repeatRules
	case structure.TriggerDefinition:
		return triggerRules
	case structure.ValueSet:
		return valueSetRules
	case structure.ValueSetComposeInclude:
		return includeRules
	case structure.ValueSetExpansionContains:
		return containsRules
	default:
		return nameRulesOf(t)
	}
}

// nameRulesOf returns the one invariant of conformance resources that have no
// other.
func nameRulesOf(t structure.Type) []rule {
	switch t {
	case structure.ActivityDefinition:
		return adfNameRules
	case structure.ChargeItemDefinition:
		return cidNameRules
	case structure.CompartmentDefinition:
		return cpdNameRules
	case structure.ConceptMap:
		return cmdNameRules
	case structure.EffectEvidenceSynthesis:
		return eesNameRules
	case structure.EventDefinition:
		return evdNameRules
	case structure.Evidence:
		return eviNameRules
	case structure.EvidenceVariable:
		return evvNameRules
	case structure.ExampleScenario:
		return escNameRules
	case structure.GraphDefinition:
		return gdfNameRules
	case structure.Library:
		return libNameRules
	case structure.MessageDefinition:
		return msdNameRules
	case structure.PlanDefinition:
		return pdfNameRules
	case structure.ResearchDefinition:
		return rsdNameRules
	case structure.ResearchElementDefinition:
		return redNameRules
	case structure.RiskEvidenceSynthesis:
		return rvsNameRules
	case structure.StructureMap:
		return smpNameRules
	case structure.TestScript:
		return tstNameRules
	default:
		return nil
	}
}

var (
	adfNameRules = []rule{{key: "adf-0", holds: isComputerName}}
	cidNameRules = []rule{{key: "cid-0", holds: isComputerName}}
	cpdNameRules = []rule{{key: "cpd-0", holds: isComputerName}}
	cmdNameRules = []rule{{key: "cmd-0", holds: isComputerName}}
	eesNameRules = []rule{{key: "ees-0", holds: isComputerName}}
	evdNameRules = []rule{{key: "evd-0", holds: isComputerName}}
	eviNameRules = []rule{{key: "evi-0", holds: isComputerName}}
	evvNameRules = []rule{{key: "evv-0", holds: isComputerName}}
	escNameRules = []rule{{key: "esc-0", holds: isComputerName}}
	gdfNameRules = []rule{{key: "gdf-0", holds: isComputerName}}
	libNameRules = []rule{{key: "lib-0", holds: isComputerName}}
	msdNameRules = []rule{{key: "msd-0", holds: isComputerName}}
	pdfNameRules = []rule{{key: "pdf-0", holds: isComputerName}}
	rsdNameRules = []rule{{key: "rsd-0", holds: isComputerName}}
	redNameRules = []rule{{key: "red-0", holds: isComputerName}}
	rvsNameRules = []rule{{key: "rvs-0", holds: isComputerName}}
	smpNameRules = []rule{{key: "smp-0", holds: isComputerName}}
	tstNameRules = []rule{{key: "tst-0", holds: isComputerName}}
)
