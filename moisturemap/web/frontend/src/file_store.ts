// Files chosen on this device, kept by it until the program has them.

const STORE = "files";

/** The browser keeps no files: its store is full or switched off. */
export class NotKept extends Error {
  constructor() {
    super("The store of this browser is full or switched off");
  }
}

/** Null where the browser refuses at once, as it may in a private window. */
function request(): IDBOpenDBRequest | null {
  try {
    return indexedDB.open("moisturemap", 1);
  } catch {
    return null;
  }
}

function opened(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const asked = request();
    if (!asked) return reject(new NotKept());
    asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(new NotKept());
  });
}

async function within<T>(
  mode: IDBTransactionMode,
  work: (store: IDBObjectStore) => IDBRequest<T>,
): Promise<T> {
  const base = await opened();
  try {
    return await new Promise<T>((resolve, reject) => {
      const turn = base.transaction(STORE, mode);
      const asked = work(turn.objectStore(STORE));
      turn.oncomplete = () => resolve(asked.result);
      turn.onabort = turn.onerror = () => reject(new NotKept());
    });
  } finally {
    base.close();
  }
}

/** Keep a file; what is kept is on the disk of this device when this resolves. */
export async function keepFile(name: string, file: File): Promise<void> {
  // The bytes, not the file chosen: that may be moved or changed before it is sent.
  const bytes = await file.arrayBuffer();
  await within("readwrite", (store) =>
    store.put({ name: file.name, type: file.type, bytes }, name),
  );
}

/** A file kept before, or null. */
export async function keptFile(name: string): Promise<File | null> {
  const found = await within(
    "readonly",
    (store) =>
      store.get(name) as IDBRequest<{ name: string; type: string; bytes: ArrayBuffer } | undefined>,
  );
  return found ? new File([found.bytes], found.name, { type: found.type }) : null;
}

export async function forgetFile(name: string): Promise<void> {
  await within("readwrite", (store) => store.delete(name));
}

/** A file and what is said of it, as they are sent. */
export function formOf(file: File, fields: Record<string, string>): FormData {
  const form = new FormData();
  form.append("file", file);
  for (const [name, value] of Object.entries(fields)) form.append(name, value);
  return form;
}
