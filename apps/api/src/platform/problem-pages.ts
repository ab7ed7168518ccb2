import { type ProblemSlug, problems } from "@sealbook/contract/problems";
import type { FastifyInstance } from "fastify";

/** Each problem's type is an address that explains it (RFC 9457 section 3.1.1). The texts are ours, so no escaping. */
export function serveProblemPages(app: FastifyInstance): void {
  app.get<{ Params: { slug: string } }>(
    "/problems/:slug",
    { schema: { hide: true } },
    async (request, reply) => {
      const { slug } = request.params;
      if (!Object.hasOwn(problems, slug)) return reply.callNotFound();
      const problem = problems[slug as ProblemSlug];
      return reply
        .type("text/html; charset=utf-8")
        .send(
          `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>${problem.title}</title></head><body>` +
            `<main><h1>${problem.title}</h1><p>Status ${problem.status}</p><p>${problem.meaning}</p><p>${problem.remedy}</p></main></body></html>`,
        );
    },
  );
}
