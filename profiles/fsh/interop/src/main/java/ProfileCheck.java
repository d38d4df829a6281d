import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.ResultSeverityEnum;
import ca.uhn.fhir.validation.SingleValidationMessage;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.Set;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.UnknownCodeSystemWarningValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;
import org.hl7.fhir.instance.model.api.IBaseResource;

/**
 * Validates, with the profiles of a package loaded and nothing else: the definitions and examples of the package and
 * every Bundle of the folders given, which must pass, and the invalid examples, which must not.
 *
 * <p>LOINC and SNOMED CT are not loaded, so that a code of theirs is a warning, not an error. An unknown profile is an
 * error.
 */
public final class ProfileCheck {
  private static final Set<String> LOADED = Set.of("StructureDefinition", "ValueSet", "CodeSystem");

  private final FhirContext context = FhirContext.forR4();
  private final FhirValidator validator;
  private int checked;
  private int failures;

  private ProfileCheck(Path packageFolder) throws IOException {
    PrePopulatedValidationSupport ours = new PrePopulatedValidationSupport(context);
    for (Path file : json(packageFolder)) {
      IBaseResource resource = context.newJsonParser().parseResource(Files.readString(file));
      if (LOADED.contains(resource.fhirType())) {
        ours.addResource(resource);
      }
    }
    UnknownCodeSystemWarningValidationSupport unknown = new UnknownCodeSystemWarningValidationSupport(context);
    unknown.setNonExistentCodeSystemSeverity(IValidationSupport.IssueSeverity.WARNING);
    FhirInstanceValidator instance = new FhirInstanceValidator(new ValidationSupportChain(
        ours, new DefaultProfileValidationSupport(context), new CommonCodeSystemsTerminologyService(context),
        new InMemoryTerminologyServerValidationSupport(context), unknown));
    instance.setErrorForUnknownProfiles(true);
    validator = context.newValidator().registerValidatorModule(instance);
  }

  public static void main(String[] args) throws IOException {
    Path packageFolder = Path.of(args[0]);
    ProfileCheck check = new ProfileCheck(packageFolder);
    check.mustPass(packageFolder);
    check.mustPass(packageFolder.resolve("examples"));
    check.mustFail(packageFolder.resolve("tests"));
    for (String exported : List.of(args).subList(1, args.length)) {
      check.mustPass(Path.of(exported));
    }
    System.out.printf("%d files, %d failures%n", check.checked, check.failures);
    System.exit(check.failures == 0 ? 0 : 1);
  }

  /** The resources of a folder, sorted; other JSON files have no hyphen in their names. */
  private static List<Path> json(Path folder) throws IOException {
    try (var files = Files.list(folder)) {
      return files.filter(f -> f.toString().endsWith(".json") && f.getFileName().toString().contains("-"))
          .sorted().toList();
    }
  }

  private List<SingleValidationMessage> errors(Path file) throws IOException {
    checked++;
    return validator.validateWithResult(Files.readString(file)).getMessages().stream()
        .filter(m -> m.getSeverity().ordinal() >= ResultSeverityEnum.ERROR.ordinal()).toList();
  }

  private void mustPass(Path folder) throws IOException {
    for (Path file : json(folder)) {
      for (SingleValidationMessage m : errors(file)) {
        failures++;
        System.out.printf("%s: %s: %s%n", file.getFileName(), m.getLocationString(), m.getMessage());
      }
    }
  }

  /** What breaks a rule of severity warning passes without error. */
  private void mustFail(Path folder) throws IOException {
    for (JsonNode test : new ObjectMapper().readTree(folder.resolve("expected.json").toFile())) {
      String file = test.get("file").asText();
      List<SingleValidationMessage> found = errors(folder.resolve(file));
      if (found.isEmpty() == test.get("severity").asText().equals("error")) {
        failures++;
        System.out.printf("%s: %d errors%n", file, found.size());
      }
      found.forEach(m -> System.out.printf("  %s: %s%n", file, m.getMessage()));
    }
  }
}
