// The one big field of a walk and the pad under it: a number is typed, pasted or keyed by a meter.

import { h } from "./dom";
import { numberPad } from "./number_pad";
import { manyNumbers } from "./walk_state";

export interface WalkFieldOptions {
  label: string;
  value: string;
  /** Whether the next key replaces what stands there. */
  fresh: boolean;
  changed: (text: string) => void;
  take: (text: string) => void;
  takeMany: (numbers: string[]) => void;
  back: () => void;
  skip: () => void;
}

export class WalkField {
  readonly input: HTMLInputElement;
  readonly pad: HTMLElement;
  private fresh: boolean;

  constructor(private readonly on: WalkFieldOptions) {
    this.fresh = on.fresh;
    this.input = h("input", {
      class: "big",
      inputmode: "decimal",
      autocomplete: "off",
      value: on.value,
      "aria-label": on.label,
      oninput: () => this.put(this.input.value),
      onkeydown: (event) => this.onKey(event as KeyboardEvent),
      onpaste: (event) => this.onPaste(event as ClipboardEvent),
    });
    this.pad = numberPad({
      type: (sign) => this.put(this.fresh ? sign : this.input.value + sign),
      wipe: () => this.put(this.fresh ? "" : this.input.value.slice(0, -1)),
      full: () => on.take("FS"),
      back: on.back,
      skip: on.skip,
      store: () => on.take(this.input.value),
    });
  }

  focus(): void {
    // Where the page itself scrolls, the number and the pad come into sight together.
    this.input.closest(".walk")?.scrollIntoView({ block: "start" });
    this.input.focus({ preventScroll: true });
    this.input.select();
  }

  /** What stands there is refused; the next key replaces it. */
  refuse(): void {
    this.input.setAttribute("aria-invalid", "true");
    this.fresh = true;
    this.focus();
  }

  private put(text: string): void {
    this.fresh = false;
    this.input.value = text;
    this.input.removeAttribute("aria-invalid");
    this.on.changed(text);
  }

  private onPaste(event: ClipboardEvent): void {
    const numbers = manyNumbers(event.clipboardData?.getData("text") ?? "");
    if (!numbers) return;
    event.preventDefault();
    this.on.takeMany(numbers);
  }

  private onKey(event: KeyboardEvent): void {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const acts: Record<string, () => void> = {
      enter: () => this.on.take(this.input.value),
      f: () => this.on.take("FS"),
      s: this.on.skip,
      b: this.on.back,
    };
    const act = acts[event.key.toLowerCase()];
    if (!act) return;
    act();
    event.preventDefault();
  }
}
