// A press on a button that is drawn anew while it is pressed counts all the same.
//
// Leaving a field takes what was typed, and the form is drawn again before the finger is up; the
// browser then sends no click, since the button that was pressed is gone.

interface Press {
  button: HTMLButtonElement;
  words: string;
}

let press: Press | null = null;

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
  if (!was || was.button.isConnected) return;
  const now = buttonOf(document.elementFromPoint(event.clientX, event.clientY));
  if (now && now.textContent === was.words) now.click();
}

export function countPresses(): void {
  addEventListener("mousedown", down, true);
  addEventListener("mouseup", up, true);
}
