import react from "@vitejs/plugin-react";
import { defineConfig, loadEnv } from "vite";
import { precompress } from "./precompress.ts";

/** Builds the client to dist; in development it proxies the interface to the running service (API_URL). */
export default defineConfig(({ mode }) => {
  const { API_URL: apiUrl = "http://127.0.0.1:4170" } = loadEnv(mode, import.meta.dirname, "API_");
  return {
    root: import.meta.dirname,
    plugins: [react(), precompress()],
    build: {
      outDir: "dist",
      emptyOutDir: true,
      // Fonts and pictures stay files: the content security policy takes nothing inlined.
      assetsInlineLimit: 0,
    },
    // The host stays that of the page: the service refuses changes that another site's page asks for.
    server: {
      proxy: {
        "/api": { target: apiUrl, changeOrigin: false },
        "/problems": { target: apiUrl, changeOrigin: false },
      },
    },
  };
});
