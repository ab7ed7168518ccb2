# The service alone; its PostgreSQL is another container or a server of yours (docker-compose.yml).
FROM node:22-slim

ENV NODE_ENV=production \
    HOST=0.0.0.0 \
    PORT=4170 \
    SEALBOOK_DATA_FOLDER=/var/lib/sealbook

WORKDIR /opt/sealbook
COPY . .

# Installs the packages, generates the database client and builds the page. What is built here belongs to root:
# the account that serves can read it and not change it.
RUN node scripts/run.mjs prepare \
 && rm -rf /root/.npm /root/.cache /root/.local \
 && mkdir -p /var/lib/sealbook \
 && chown node:node /var/lib/sealbook

USER node
VOLUME /var/lib/sealbook
EXPOSE 4170

HEALTHCHECK --interval=10s --timeout=5s --start-period=60s --retries=3 \
  CMD ["node", "-e", "fetch(`http://127.0.0.1:${process.env.PORT}/readyz`).then((reply) => process.exit(reply.ok ? 0 : 1), () => process.exit(1))"]

# Node itself is the process that receives the signal to stop.
CMD ["node", "scripts/run.mjs", "start"]
