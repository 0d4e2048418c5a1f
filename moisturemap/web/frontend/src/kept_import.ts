// A file that is being brought in, with what was chosen for it: kept on this device until it is
// stored or given up, as forms are.

import { draftName, dropDraft, keepDraft, keptDraft } from "./drafts";
import { forgetFile, keepFile, keptFile } from "./file_store";

interface Kept<V> {
  file: string;
  chosen: V;
}

export class KeptImport<V> {
  private readonly name: string;

  constructor(kind: string) {
    this.name = draftName(`import:${kind}`);
  }

  /** Name of the file that is kept; null for none. */
  get file(): string | null {
    return keptDraft<Kept<V>>(this.name)?.file ?? null;
  }

  async keep(file: File, title: string, chosen: V): Promise<void> {
    await keepFile(this.name, file);
    this.choose(file, title, chosen);
  }

  choose(file: File, title: string, chosen: V): void {
    keepDraft(this.name, title, { file: file.name, chosen } satisfies Kept<V>);
  }

  /** What was kept; null where there is nothing, or the file is gone. */
  async found(): Promise<[file: File, chosen: V] | null> {
    const draft = keptDraft<Kept<V>>(this.name);
    const file = draft && (await keptFile(this.name));
    return file ? [file, draft.chosen] : null;
  }

  async drop(): Promise<void> {
    dropDraft(this.name);
    await forgetFile(this.name);
  }
}
