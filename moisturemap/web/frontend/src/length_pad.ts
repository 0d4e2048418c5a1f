// The length of a wall, typed, and the four directions it may run.

import { button, field, h } from "./dom";
import { aboutWall, meant } from "./doubts";
import { readLength, type LengthUnit } from "./lengths";
import { t } from "./strings";

const DIRECTIONS: [sign: string, key: string, arrow: string, by: [number, number]][] = [
  ["←", "to-left", "ArrowLeft", [-1, 0]],
  ["↑", "to-top", "ArrowUp", [0, 1]],
  ["↓", "to-bottom", "ArrowDown", [0, -1]],
  ["→", "to-right", "ArrowRight", [1, 0]],
];
/** Longer walls are slips of the hand [m]; our choice. */
const LONGEST_M = 2000;

/**
 * The direction an arrow key asks for while a length is typed; null leaves the key to the field:
 * left and right move in the text until its end is reached.
 */
export function arrowOf(
  { key, altKey, ctrlKey }: { key: string; altKey: boolean; ctrlKey: boolean },
  atEnd: boolean,
): [number, number] | null {
  const along = key === "ArrowLeft" || key === "ArrowRight";
  if (along && !(altKey || ctrlKey || atEnd)) return null;
  return DIRECTIONS.find(([, , arrow]) => arrow === key)?.[3] ?? null;
}

export interface LengthPadOptions {
  unit: LengthUnit;
  /** A wall of this length [m] this way. */
  step: (metres: number, dx: number, dy: number) => void;
  /** Enter. */
  enter: () => void;
  changed: () => void;
}

export class LengthPad {
  readonly length: ReturnType<typeof field>;
  readonly compass = h("div", { class: "compass" });

  constructor(private readonly options: LengthPadOptions) {
    this.length = field(t("wall-length"), {
      inputmode: "text",
      hint: t("wall-length-hint"),
      oninput: () => options.changed(),
      more: { onkeydown: (event) => this.onKey(event as KeyboardEvent) },
    });
    for (const [sign, key, , by] of DIRECTIONS)
      this.compass.append(
        button(sign, () => void this.step(...by), "", {
          "aria-label": t(key as "to-left"),
          class: key,
        }),
      );
  }

  get text(): string {
    return this.length.input.value;
  }

  set text(value: string) {
    this.length.input.value = value;
  }

  /** The typed length [m], asked about when it is long; null when there is none. */
  async typed(): Promise<number | null> {
    const { text } = this;
    const { unit } = this.options;
    const metres = readLength(text, unit);
    if (metres > 0 && metres < LONGEST_M) {
      const length = await meant(t("wall-length"), text, aboutWall(text, metres, unit));
      if (length !== null) return readLength((this.text = length), unit);
      this.length.input.select();
      return null;
    }
    this.length.say(t("bad-length", { value: this.text }), true);
    this.length.input.focus();
    this.length.input.select();
    return null;
  }

  private async step(dx: number, dy: number): Promise<void> {
    const metres = await this.typed();
    if (metres === null) return;
    this.options.step(metres, dx, dy);
    this.length.input.select();
  }

  private onKey(event: KeyboardEvent): void {
    const { input } = this.length;
    const arrow = arrowOf(event, input.selectionStart === input.value.length);
    if (arrow) void this.step(...arrow);
    else if (event.key === "Enter") this.options.enter();
    else return;
    event.preventDefault();
  }
}
