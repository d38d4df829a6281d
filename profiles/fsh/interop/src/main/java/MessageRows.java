import ca.uhn.hl7v2.DefaultHapiContext;
import ca.uhn.hl7v2.HapiContext;
import ca.uhn.hl7v2.model.AbstractGroup;
import ca.uhn.hl7v2.model.Composite;
import ca.uhn.hl7v2.model.ExtraComponents;
import ca.uhn.hl7v2.model.Message;
import ca.uhn.hl7v2.model.Primitive;
import ca.uhn.hl7v2.model.Segment;
import ca.uhn.hl7v2.model.Structure;
import ca.uhn.hl7v2.model.Type;
import ca.uhn.hl7v2.model.Varies;
import ca.uhn.hl7v2.parser.Parser;
import ca.uhn.hl7v2.util.Hl7InputStreamMessageStringIterator;
import java.io.ByteArrayInputStream;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.List;

/**
 * Reads a batch of HL7 v2 messages from standard input with HAPI HL7v2, in its
 * model of version 2.5.1 and under its own validation, and writes one JSON
 * object a line for each segment, as testdata/oracle/hl7.mjs does. A segment or
 * a component that the version does not have is an error. HAPI leaves the
 * escape sequences of formatted text and of hexadecimal data as they are.
 */
public class MessageRows {
  private static final PrintStream OUT = new PrintStream(System.out, false, StandardCharsets.UTF_8);

  public static void main(String[] args) throws Exception {
    String batch = new String(System.in.readAllBytes(), StandardCharsets.UTF_8);
    int end = batch.lastIndexOf("\rBTS|") + 1; // the iterator takes BTS for a segment of the last message
    byte[] messagesOnly = batch.substring(0, end).getBytes(StandardCharsets.UTF_8);
    try (HapiContext context = new DefaultHapiContext()) {
      Parser parser = context.getPipeParser();
      var messages = new Hl7InputStreamMessageStringIterator(new ByteArrayInputStream(messagesOnly));
      int count = 0;
      while (messages.hasNext()) {
        Message message = parser.parse(messages.next());
        if (!message.getClass().getName().equals("ca.uhn.hl7v2.model.v251.message.ORU_R01")) {
          throw new IllegalStateException("read as " + message.getClass());
        }
        count++;
        String id = ((Segment) message.get("MSH")).getField(10, 0).encode();
        group(id, (AbstractGroup) message);
      }
      String trailer = batch.substring(end).trim();
      if (!trailer.equals("BTS|" + count)) throw new IllegalStateException(trailer + " of " + count + " messages");
    }
    OUT.flush();
  }

  private static void group(String id, AbstractGroup group) throws Exception {
    for (String name : group.getNames()) {
      for (Structure s : group.getAll(name)) {
        if (group.getNonStandardNames().contains(name)) throw new IllegalStateException("no place for " + name);
        if (s instanceof AbstractGroup inner) group(id, inner);
        else if (!s.isEmpty()) segment(id, (Segment) s);
      }
    }
  }

  private static void segment(String id, Segment segment) throws Exception {
    List<String> fields = new ArrayList<>();
    fields.add(list(List.of(segment.getName())));
    for (int i = 1; i <= segment.numFields(); i++) {
      Type[] repetitions = segment.getField(i);
      if (repetitions.length > 1) throw new IllegalStateException(segment.getName() + "-" + i + " repeats");
      if (segment.getName().equals("MSH") && i == 1) continue; // the delimiter of fields is no field of its own
      fields.add(list(repetitions.length == 0 ? List.of("") : components(repetitions[0])));
    }
    OUT.println("{\"id\":" + quoted(id) + ",\"name\":" + quoted(segment.getName()) + ",\"fields\":[" + String.join(",", fields) + "]}");
  }

  private static List<String> components(Type field) {
    Type type = field instanceof Varies v ? v.getData() : field;
    ExtraComponents extra = type.getExtraComponents();
    if (extra.numComponents() > 0) throw new IllegalStateException("too many components: " + type);
    if (type instanceof Primitive p) return List.of(value(p));
    List<String> out = new ArrayList<>();
    for (Type component : ((Composite) type).getComponents()) {
      Type inner = component instanceof Varies v ? v.getData() : component;
      if (inner instanceof Primitive p) {
        out.add(value(p));
      } else {
        List<String> parts = components(inner);
        out.add(String.join("&", parts).replaceAll("&+$", ""));
      }
    }
    return out;
  }

  private static String value(Primitive p) {
    return p.getValue() == null ? "" : p.getValue();
  }

  private static String list(List<String> parts) {
    int last = parts.size();
    while (last > 1 && parts.get(last - 1).isEmpty()) last--;
    List<String> out = new ArrayList<>();
    for (String part : parts.subList(0, last)) out.add(quoted(part));
    return "[" + String.join(",", out) + "]";
  }

  private static String quoted(String text) {
    StringBuilder out = new StringBuilder("\"");
    for (char c : text.toCharArray()) {
      if (c < ' ' || c == '"' || c == '\\') out.append(String.format("\\u%04x", (int) c));
      else out.append(c);
    }
    return out.append('"').toString();
  }
}
