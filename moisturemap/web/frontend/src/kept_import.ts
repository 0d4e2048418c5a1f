// A file that is being brought in, with what was chosen for it: kept on this device until it is
// stored or given up, as forms are.

import { announce } from "./announce";
import { button, fileButton, h, replace } from "./dom";
import { draftName, dropDraft, keepDraft, keptDraft } from "./drafts";
import { forgetFile, keepFile, keptFile, NotKept } from "./file_store";
import { t } from "./strings";

interface Kept<V> {
  file: string;
  chosen: V;
}

export class KeptImport<V> {
  private readonly name: string;
  /** Whether this device takes files: where it does not, a reload loses what was not stored. */
  private keeps = true;

  constructor(kind: string) {
    this.name = draftName(`import:${kind}`);
  }

  /** The button that chooses a file, and one that goes on with the file that is kept. */
  chooser(
    label: string,
    accept: string,
    open: (file: File, before?: V) => Promise<void>,
  ): HTMLElement {
    const row = h("div", { class: "row" });
    const opened = (file: File, before?: V): Promise<void> => open(file, before).finally(offer);
    const goOn = async (): Promise<void> => {
      const found = await this.found();
      if (found) return opened(...found);
      await this.drop();
      announce(t("import-gone"), "bad");
      offer();
    };
    const offer = (): void => {
      const file = keptDraft<Kept<V>>(this.name)?.file;
      const again = file && button(t("import-go-on", { file }), () => void goOn(), "main");
      replace(
        row,
        fileButton(label, accept, (chosen) => void opened(chosen)),
        again || null,
      );
    };
    offer();
    return row;
  }

  async keep(file: File, title: string, chosen: V): Promise<void> {
    try {
      await keepFile(this.name, file);
      this.keeps = true;
      this.choose(file, title, chosen);
    } catch (error) {
      if (!(error instanceof NotKept)) throw error;
      this.keeps = false;
      announce(t("import-not-kept", { file: file.name }), "bad");
    }
  }

  choose(file: File, title: string, chosen: V): void {
    if (!this.keeps) return;
    keepDraft(this.name, title, { file: file.name, chosen } satisfies Kept<V>);
  }

  /** What was kept; null where there is nothing, or the file is gone. */
  private async found(): Promise<[file: File, chosen: V] | null> {
    const draft = keptDraft<Kept<V>>(this.name);
    const file = draft && (await keptFile(this.name));
    return file ? [file, draft.chosen] : null;
  }

  async drop(): Promise<void> {
    dropDraft(this.name);
    if (this.keeps) await forgetFile(this.name);
  }
}
