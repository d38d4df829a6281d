import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.ResultSeverityEnum;
import ca.uhn.fhir.validation.SingleValidationMessage;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.io.BufferedReader;
import java.io.InputStreamReader;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.UnknownCodeSystemWarningValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;

/**
 * Says what the instance validator finds wrong in each file whose path is a line of the standard input, with R4 and
 * HL7's own code systems loaded and nothing else: a line of JSON for each, its errors with place, message id and text.
 *
 * <p>A code of a system that is not loaded is a warning.
 */
public final class Verdicts {
  private Verdicts() {}

  public static void main(String[] args) throws Exception {
    FhirContext context = FhirContext.forR4();
    UnknownCodeSystemWarningValidationSupport unknown = new UnknownCodeSystemWarningValidationSupport(context);
    unknown.setNonExistentCodeSystemSeverity(IValidationSupport.IssueSeverity.WARNING);
    FhirValidator validator = context.newValidator().registerValidatorModule(
        new FhirInstanceValidator(new ValidationSupportChain(
            new DefaultProfileValidationSupport(context), new CommonCodeSystemsTerminologyService(context),
            new InMemoryTerminologyServerValidationSupport(context), unknown)));
    ObjectMapper json = new ObjectMapper();
    PrintStream out = new PrintStream(System.out, true, StandardCharsets.UTF_8);
    BufferedReader files = new BufferedReader(new InputStreamReader(System.in, StandardCharsets.UTF_8));
    for (String file = files.readLine(); file != null; file = files.readLine()) {
      out.println(json.writeValueAsString(Map.of("file", file, "errors", errors(validator, Path.of(file)))));
    }
  }

  private static List<Map<String, String>> errors(FhirValidator validator, Path file) throws Exception {
    List<Map<String, String>> errors = new ArrayList<>();
    try {
      for (SingleValidationMessage m : validator.validateWithResult(Files.readString(file)).getMessages()) {
        if (m.getSeverity().ordinal() >= ResultSeverityEnum.ERROR.ordinal()) {
          errors.add(error(m.getLocationString(), m.getMessageId(), m.getMessage()));
        }
      }
    } catch (RuntimeException e) { // what it cannot read at all
      errors.add(error("", e.getClass().getSimpleName(), e.getMessage()));
    }
    return errors;
  }

  private static Map<String, String> error(String at, String id, String text) {
    Map<String, String> error = new LinkedHashMap<>();
    error.put("at", at == null ? "" : at);
    error.put("id", id == null ? "" : id);
    error.put("text", text == null ? "" : text);
    return error;
  }
}
