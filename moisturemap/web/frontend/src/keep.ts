// What is typed is kept on this device until the program has it.

const STEM = "moisturemap:";

export function keep(name: string, value: unknown): void {
  try {
    localStorage.setItem(STEM + name, JSON.stringify(value));
  } catch (cause) {
    // The device's store is full or closed to us: the caller must know that nothing was kept.
    throw new Error("The store of this browser is full or switched off", { cause });
  }
}

export function kept<T>(name: string): T | null {
  const text = localStorage.getItem(STEM + name);
  if (text === null) return null;
  try {
    return JSON.parse(text) as T;
  } catch {
    return null;
  }
}

export function forget(name: string): void {
  localStorage.removeItem(STEM + name);
}

export function keptNames(stem: string): string[] {
  return Object.keys(localStorage)
    .filter((name) => name.startsWith(STEM + stem))
    .map((name) => name.slice(STEM.length))
    .sort();
}

/** A key that makes a repeated request do its work once; works without a secure context. */
export function newKey(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
