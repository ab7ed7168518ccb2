import { existsSync } from "node:fs";
import { fileURLToPath } from "node:url";
import cookie from "@fastify/cookie";
import helmet from "@fastify/helmet";
import multipart from "@fastify/multipart";
import fastifyStatic from "@fastify/static";
import swagger from "@fastify/swagger";
import swaggerUi from "@fastify/swagger-ui";
import Fastify, { type FastifyInstance, LogController } from "fastify";
import { jsonSchemaTransform, serializerCompiler, validatorCompiler } from "fastify-type-provider-zod";
import type { Logger } from "pino";
import type { Config } from "./config.ts";
import { calculationsRoutes } from "./modules/calculations/routes.ts";
import { dueRoutes } from "./modules/due/routes.ts";
import { filesRoutes } from "./modules/files/routes.ts";
import { groupsRoutes } from "./modules/groups/routes.ts";
import { importsRoutes } from "./modules/imports/routes.ts";
import { inventoryFlagsRoutes } from "./modules/inventory-flags/routes.ts";
import { ledgerRoutes } from "./modules/ledger/routes.ts";
import { logHeadsRoutes } from "./modules/log-heads/routes.ts";
import { meterListRoutes } from "./modules/meter-list/routes.ts";
import { meterTestsRoutes } from "./modules/meter-tests/routes.ts";
import { meterTypesRoutes } from "./modules/meter-types/routes.ts";
import { metersRoutes } from "./modules/meters/routes.ts";
import { peopleRoutes } from "./modules/people/routes.ts";
import { placesRoutes } from "./modules/places/routes.ts";
import { profilesRoutes } from "./modules/profiles/routes.ts";
import { reportsRoutes } from "./modules/reports/routes.ts";
import { samplingRoutes } from "./modules/sampling/routes.ts";
import { savedViewsRoutes } from "./modules/saved-views/routes.ts";
import { searchRoutes } from "./modules/search/routes.ts";
import { servicePointsRoutes } from "./modules/service-points/routes.ts";
import { shipmentsRoutes } from "./modules/shipments/routes.ts";
import { standardsRoutes } from "./modules/standards/routes.ts";
import { testPlansRoutes } from "./modules/test-plans/routes.ts";
import { workItemsRoutes } from "./modules/work-items/routes.ts";
import { answerErrors, answerUnreadableAddress } from "./platform/answer-errors.ts";
import { relievePressure } from "./platform/back-pressure.ts";
import type { Database } from "./platform/database.ts";
import { type DatabaseWatch, watchDatabase } from "./platform/database-watch.ts";
import { type Lifecycle, serveHealth } from "./platform/health.ts";
import { limitRates, type RateCheck } from "./platform/limit-rates.ts";
import type { LogSigner } from "./platform/log/log-signer.ts";
import { serveMetrics } from "./platform/metrics.ts";
import { ProblemError } from "./platform/problem-error.ts";
import { serveProblemPages } from "./platform/problem-pages.ts";
import { logRequests } from "./platform/request-log.ts";
import { findSession } from "./platform/sessions.ts";
import { newId } from "./platform/transaction.ts";

export interface AppParts {
  config: Config;
  database: Database;
  log: Logger;
  /** Signs the log's head when somebody asks for it; without one, heads that were signed before are given. */
  logSigner?: LogSigner;
  /** Tells the service that it is to stop soon. */
  lifecycle?: Lifecycle;
}

const pageFolder = fileURLToPath(new URL("../../web/dist", import.meta.url));

/** Builds the server: plugins, then one module an area, then the page. Tests start here. */
export async function buildApp({
  config,
  database,
  log,
  logSigner,
  lifecycle = { isStopping: false },
}: AppParts): Promise<FastifyInstance> {
  const app = Fastify({
    loggerInstance: log,
    logController: new LogController({ disableRequestLogging: true }),
    genReqId: () => newId(),
    trustProxy: config.TRUST_PROXY,
    bodyLimit: 1_048_576,
    requestTimeout: 60_000,
    http: { headersTimeout: 10_000, connectionsCheckingInterval: 5_000 },
    routerOptions: { maxParamLength: 200 },
    frameworkErrors: answerUnreadableAddress,
    return503OnClosing: true,
  }) as unknown as FastifyInstance;
  app.decorate("database", database);
  app.decorate("config", config);
  app.decorate("logSigner", logSigner ?? null);
  app.decorateRequest("session", null);
  answerErrors(app);
  logRequests(app);

  await app.register(helmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        imgSrc: ["'self'", "data:", "blob:"],
        fontSrc: ["'self'"],
        connectSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
        objectSrc: ["'none'"],
        manifestSrc: ["'self'"],
        workerSrc: ["'self'"],
      },
    },
    referrerPolicy: { policy: "no-referrer" },
    strictTransportSecurity: config.COOKIE_SECURE ? { maxAge: 63_072_000, includeSubDomains: true } : false,
  });
  await app.register(cookie);
  const pressure = await relievePressure(app, config);
  const checkPerson = await limitRates(app, config);
  const watch = watchDatabase(database, log);
  app.addHook("onReady", () => watch.start());
  app.addHook("onClose", () => watch.stop());

  await app.register(apiScope, { prefix: "/api", watch, checkPerson });
  serveProblemPages(app);
  serveHealth(app, { database, watch, config, lifecycle });
  serveMetrics(app, { config, database, watch, pressure });
  await servePage(app);
  return app;
}

/** Everything below /api: sessions, the same-site rule, one module an area. */
async function apiScope(
  api: FastifyInstance,
  { watch, checkPerson }: { watch: DatabaseWatch; checkPerson: RateCheck },
): Promise<void> {
  api.setValidatorCompiler(validatorCompiler);
  api.setSerializerCompiler(serializerCompiler);
  await api.register(swagger, {
    openapi: {
      openapi: "3.1.0",
      info: {
        title: "Sealbook",
        description:
          "The book of record of a utility's electricity-meter shop. Problems are RFC 9457 problem details.",
        version: "1",
      },
      servers: [{ url: "/" }],
    },
    transform: jsonSchemaTransform,
  });
  await api.register(swaggerUi, { routePrefix: "/docs", staticCSP: true });
  await api.register(multipart, {
    limits: { files: 1, fields: 4, fileSize: api.config.UPLOAD_MEGABYTES * 1_048_576, parts: 5 },
  });

  api.addHook("onRequest", async (request, reply) => {
    reply.header("cache-control", "no-store");
    if (request.method !== "GET" && request.method !== "HEAD") refuseCrossSite(request.headers, request.host);
    if (watch.isAway) {
      throw new ProblemError(
        "unavailable",
        "The database does not answer at this moment; nothing was changed. What you typed is kept: try again in a few seconds.",
      );
    }
    request.session = await findSession(request, api.database, api.config);
    await checkPerson(request);
  });

  await api.register(peopleRoutes);
  await api.register(metersRoutes);
  await api.register(inventoryFlagsRoutes);
  await api.register(meterListRoutes);
  await api.register(savedViewsRoutes);
  await api.register(searchRoutes);
  await api.register(meterTypesRoutes);
  await api.register(placesRoutes);
  await api.register(servicePointsRoutes);
  await api.register(testPlansRoutes);
  await api.register(standardsRoutes);
  await api.register(meterTestsRoutes);
  await api.register(workItemsRoutes);
  await api.register(dueRoutes);
  await api.register(samplingRoutes);
  await api.register(shipmentsRoutes);
  await api.register(groupsRoutes);
  await api.register(importsRoutes);
  await api.register(filesRoutes);
  await api.register(profilesRoutes);
  await api.register(reportsRoutes);
  await api.register(ledgerRoutes);
  await api.register(logHeadsRoutes);
  await api.register(calculationsRoutes);
}

/** A change must come from our own page or from a program, never from another site's page. */
function refuseCrossSite(headers: Record<string, string | string[] | undefined>, host: string): void {
  const site = headers["sec-fetch-site"];
  const origin = headers.origin;
  const foreignSite = site !== undefined && site !== "same-origin" && site !== "none";
  const foreignOrigin = typeof origin === "string" && hostOf(origin) !== host;
  if (foreignSite || foreignOrigin) {
    throw new ProblemError(
      "cross-site-request",
      "This change was asked for by another site's page; nothing was changed.",
    );
  }
}

function hostOf(origin: string): string | null {
  try {
    return new URL(origin).host;
  } catch {
    return null;
  }
}

/** The built page; every address that is not a file is one of the page's own. */
async function servePage(app: FastifyInstance): Promise<void> {
  if (!existsSync(pageFolder)) return;
  await app.register(fastifyStatic, {
    root: pageFolder,
    wildcard: false,
    // The build leaves a compressed copy beside each file.
    preCompressed: true,
    setHeaders(reply, path) {
      // Built files carry their hash in their name; the page itself must be asked for again.
      reply.header(
        "cache-control",
        path.includes("/assets/") ? "public, max-age=31536000, immutable" : "no-cache",
      );
    },
  });
  app.get("/*", { schema: { hide: true } }, async (request, reply) => {
    if (/^\/(api|assets)\//.test(request.url)) return reply.callNotFound();
    return reply.header("cache-control", "no-cache").sendFile("index.html");
  });
}
