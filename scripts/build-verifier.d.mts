export function buildVerifier(folder?: string): Promise<{ path: string; sha256: string }>;
export function copyVerifier(commandArguments: string[]): Promise<number>;
