import ca.uhn.fhir.batch2.jobs.config.Batch2JobsConfig;
import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.jpa.api.config.JpaStorageSettings;
import ca.uhn.fhir.jpa.api.config.ThreadPoolFactoryConfig;
import ca.uhn.fhir.jpa.api.dao.DaoRegistry;
import ca.uhn.fhir.jpa.api.dao.IFhirSystemDao;
import ca.uhn.fhir.jpa.batch2.JpaBatch2Config;
import ca.uhn.fhir.jpa.config.HapiJpaConfig;
import ca.uhn.fhir.jpa.config.r4.JpaR4Config;
import ca.uhn.fhir.jpa.config.util.HapiEntityManagerFactoryUtil;
import ca.uhn.fhir.jpa.model.config.PartitionSettings;
import ca.uhn.fhir.jpa.model.dialect.HapiFhirH2Dialect;
import ca.uhn.fhir.jpa.packages.IPackageInstallerSvc;
import ca.uhn.fhir.jpa.packages.PackageInstallationSpec;
import ca.uhn.fhir.jpa.provider.JpaCapabilityStatementProvider;
import ca.uhn.fhir.jpa.provider.JpaSystemProvider;
import ca.uhn.fhir.jpa.search.DatabaseBackedPagingProvider;
import ca.uhn.fhir.jpa.searchparam.SearchParameterMap;
import ca.uhn.fhir.jpa.subscription.channel.config.SubscriptionChannelConfig;
import ca.uhn.fhir.rest.api.server.SystemRequestDetails;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.interceptor.RequestValidatingInterceptor;
import ca.uhn.fhir.rest.server.provider.ResourceProviderFactory;
import ca.uhn.fhir.rest.server.util.ISearchParamRegistry;
import ca.uhn.fhir.validation.IInstanceValidatorModule;
import jakarta.persistence.EntityManagerFactory;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import javax.sql.DataSource;
import org.eclipse.jetty.ee10.servlet.ServletContextHandler;
import org.eclipse.jetty.ee10.servlet.ServletHolder;
import org.eclipse.jetty.server.Server;
import org.eclipse.jetty.server.ServerConnector;
import org.h2.jdbcx.JdbcConnectionPool;
import org.hl7.fhir.common.hapi.validation.support.UnknownCodeSystemWarningValidationSupport;
import org.hl7.fhir.r4.model.CodeSystem;
import org.hl7.fhir.r4.model.CodeSystem.CodeSystemContentMode;
import org.hl7.fhir.r4.model.CodeSystem.ConceptDefinitionComponent;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.ValueSet;
import org.springframework.beans.factory.config.ConfigurableListableBeanFactory;
import org.springframework.context.ApplicationContext;
import org.springframework.context.annotation.AnnotationConfigApplicationContext;
import org.springframework.context.annotation.Bean;
import org.springframework.context.annotation.Configuration;
import org.springframework.context.annotation.Import;
import org.springframework.orm.jpa.JpaTransactionManager;
import org.springframework.orm.jpa.LocalContainerEntityManagerFactoryBean;

/**
 * HAPI FHIR's JPA server for R4, as published, over a database in memory: {@code JpaServer PACKAGE.tgz NAME VERSION}
 * installs the package and validates every request against it. The settings are the library's own, but for two: a
 * package of status draft may be installed, and a code of a system that is not loaded is a warning.
 *
 * <p>It listens on a free port of the loopback interface, prints its base URL and ends when its standard input does.
 */
public final class JpaServer {
  /** Systems that a receiver loads under licence; here, as much of them as the value sets of the package name. */
  private static final List<String> LICENSED = List.of("http://loinc.org", "http://snomed.info/sct");

  /** How long an answer may take; Jetty's own 30 s cut off those to a whole session on a busy computer. */
  private static final long PATIENCE_MS = 600_000;

  private JpaServer() {}

  @Configuration
  @Import({JpaR4Config.class, HapiJpaConfig.class, JpaBatch2Config.class, Batch2JobsConfig.class,
      SubscriptionChannelConfig.class, ThreadPoolFactoryConfig.class})
  static class Storage {
    @Bean
    JpaStorageSettings storageSettings() {
      return new JpaStorageSettings();
    }

    @Bean
    PartitionSettings partitionSettings() {
      return new PartitionSettings();
    }

    @Bean
    DataSource dataSource() {
      return JdbcConnectionPool.create("jdbc:h2:mem:record;DB_CLOSE_DELAY=-1", "sa", "");
    }

    @Bean
    LocalContainerEntityManagerFactoryBean entityManagerFactory(
        ConfigurableListableBeanFactory beans, FhirContext context, JpaStorageSettings settings, DataSource database) {
      LocalContainerEntityManagerFactoryBean factory =
          HapiEntityManagerFactoryUtil.newEntityManagerFactory(beans, context, settings);
      factory.setPersistenceUnitName("record");
      factory.setDataSource(database);
      factory.setJpaPropertyMap(Map.of(
          "hibernate.dialect", HapiFhirH2Dialect.class.getName(),
          "hibernate.hbm2ddl.auto", "create",
          "hibernate.search.enabled", "false"));
      return factory;
    }

    @Bean
    JpaTransactionManager transactionManager(EntityManagerFactory factory) {
      return new JpaTransactionManager(factory);
    }
  }

  public static void main(String[] args) throws Exception {
    ApplicationContext beans = new AnnotationConfigApplicationContext(Storage.class);
    install(beans, Path.of(args[0]), args[1], args[2]);
    ServerConnector connector = serve(endpoint(beans));
    System.out.printf("http://127.0.0.1:%d/fhir%n", connector.getLocalPort());
    while (System.in.read() >= 0) {
      // until whoever started it ends
    }
    System.exit(0);
  }

  private static void install(ApplicationContext beans, Path file, String name, String version) throws IOException {
    beans.getBean(UnknownCodeSystemWarningValidationSupport.class)
        .setNonExistentCodeSystemSeverity(IValidationSupport.IssueSeverity.WARNING);
    beans.getBean(IPackageInstallerSvc.class).install(new PackageInstallationSpec()
        .setName(name).setVersion(version).setPackageContents(Files.readAllBytes(file))
        .setInstallMode(PackageInstallationSpec.InstallModeEnum.STORE_AND_INSTALL));
    DaoRegistry daos = beans.getBean(DaoRegistry.class);
    Map<String, CodeSystem> licensed = new LinkedHashMap<>();
    daos.getResourceDao(ValueSet.class)
        .search(new SearchParameterMap().setLoadSynchronous(true), new SystemRequestDetails()).getAllResources()
        .forEach(valueSet -> collect((ValueSet) valueSet, licensed));
    licensed.values().forEach(s -> daos.getResourceDao(CodeSystem.class).create(s, new SystemRequestDetails()));
  }

  private static void collect(ValueSet from, Map<String, CodeSystem> into) {
    for (ValueSet.ConceptSetComponent include : from.getCompose().getInclude()) {
      if (!LICENSED.contains(include.getSystem())) {
        continue;
      }
      // The server takes the concepts of a complete system alone.
      CodeSystem system = into.computeIfAbsent(include.getSystem(), url -> new CodeSystem()
          .setUrl(url).setStatus(PublicationStatus.ACTIVE).setContent(CodeSystemContentMode.COMPLETE));
      for (ValueSet.ConceptReferenceComponent concept : include.getConcept()) {
        if (system.getConcept().stream().noneMatch(c -> c.getCode().equals(concept.getCode()))) {
          system.addConcept(new ConceptDefinitionComponent()
              .setCode(concept.getCode()).setDisplay(concept.getDisplay()));
        }
      }
    }
  }

  private static RestfulServer endpoint(ApplicationContext beans) {
    RestfulServer endpoint = new RestfulServer(beans.getBean(FhirContext.class));
    endpoint.registerProviders(beans.getBean(ResourceProviderFactory.class).createProviders());
    endpoint.registerProvider(beans.getBean(JpaSystemProvider.class));
    endpoint.setPagingProvider(beans.getBean(DatabaseBackedPagingProvider.class));
    endpoint.setServerConformanceProvider(new JpaCapabilityStatementProvider(
        endpoint, beans.getBean(IFhirSystemDao.class), beans.getBean(JpaStorageSettings.class),
        beans.getBean(ISearchParamRegistry.class),
        beans.getBean("myJpaValidationSupportChain", IValidationSupport.class)));
    RequestValidatingInterceptor validating = new RequestValidatingInterceptor();
    validating.addValidatorModule(beans.getBean(IInstanceValidatorModule.class));
    endpoint.registerInterceptor(validating);
    return endpoint;
  }

  private static ServerConnector serve(RestfulServer endpoint) throws Exception {
    ServletContextHandler context = new ServletContextHandler();
    context.addServlet(new ServletHolder(endpoint), "/fhir/*");
    Server server = new Server();
    ServerConnector connector = new ServerConnector(server);
    connector.setHost("127.0.0.1");
    connector.setIdleTimeout(PATIENCE_MS);
    server.addConnector(connector);
    server.setHandler(context);
    server.start();
    return connector;
  }
}
