import { defineConfig } from "prisma/config";

/** For Prisma's own command only. The service migrates by scripts/migrate.mjs and reads its settings in config.ts. */
export default defineConfig({
  schema: "prisma/schema.prisma",
  migrations: { path: "prisma/migrations" },
  datasource: { url: process.env.DATABASE_URL ?? "" },
});
