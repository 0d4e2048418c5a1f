// A press on a button that is drawn anew while it is pressed counts all the same.
//
// Leaving a field takes what was typed, and the form is drawn again before the finger is up; the
// browser then sends no click, since the button that was pressed is gone. The second press of a
// double tap is left out where the first took its button away: it would hit what lies below.

interface Press {
  button: HTMLButtonElement;
  words: string;
}

let press: Press | null = null;

/** The last press by hand, and when and where it ended. */
let last: (Press & { x: number; y: number; at: number }) | null = null;

/** Whether the pointer is down for the second press of a double tap. */
let second = false;

/** Most time between the two presses of a double tap [ms], and most way between them [px]. */
const DOUBLE_MS = 400;
const DOUBLE_PX = 24;

function buttonOf(target: EventTarget | null): HTMLButtonElement | null {
  return target instanceof Element ? target.closest("button") : null;
}

function down(event: MouseEvent): void {
  const button = event.button === 0 ? buttonOf(event.target) : null;
  press = button && { button, words: button.textContent };
}

function up(event: MouseEvent): void {
  const was = press;
  press = null;
  if (was) last = { ...was, x: event.clientX, y: event.clientY, at: event.timeStamp };
  if (!was || was.button.isConnected) return;
  const now = buttonOf(document.elementFromPoint(event.clientX, event.clientY));
  if (now && now.textContent === was.words) now.click();
}

/** Whether a pointer comes down a second time where a button was that its first press took away. */
function again(event: PointerEvent): boolean {
  if (!last || last.button.isConnected || event.timeStamp - last.at > DOUBLE_MS) return false;
  if (Math.hypot(event.clientX - last.x, event.clientY - last.y) > DOUBLE_PX) return false;
  return buttonOf(event.target)?.textContent !== last.words;
}

function stop(event: Event): void {
  event.preventDefault();
  event.stopImmediatePropagation();
}

/** The second press of a double tap is no press of what lay below the button. */
function once(event: PointerEvent): void {
  second = again(event);
  if (second) stop(event);
}

function ofSecond(event: MouseEvent): void {
  if (second && event.isTrusted && event.detail > 0) stop(event);
}

export function countPresses(): void {
  addEventListener("pointerdown", once, true);
  for (const kind of ["mousedown", "mouseup", "click", "dblclick"] as const)
    addEventListener(kind, ofSecond, true);
  addEventListener("mousedown", down, true);
  addEventListener("mouseup", up, true);
}
