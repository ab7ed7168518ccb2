import type pg from "pg";

/** Closes the connection's socket without the farewell that a silent server would never read. */
export function destroy(client: pg.ClientBase): void {
  (client as unknown as { connection: { stream: { destroy(): void } } }).connection.stream.destroy();
}
