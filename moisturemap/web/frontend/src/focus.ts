// Where the keyboard is: when the control that had the focus is drawn anew, its like takes it; when
// it is gone, the heading of the panel does. The focus never falls off the page.

interface Had {
  element: HTMLElement;
  tag: string;
  name: string;
}

/** How a control is named: by its label, its own words or its place in the page. */
function nameOf(element: HTMLElement): string {
  const labelled = element as HTMLInputElement;
  const label = labelled.labels?.[0]?.textContent;
  return label ?? element.getAttribute("aria-label") ?? element.textContent ?? "";
}

function had(element: HTMLElement): Had {
  return { element, tag: element.tagName, name: nameOf(element) };
}

function likeOf({ tag, name }: Had, within: ParentNode): HTMLElement | null {
  const same = [...within.querySelectorAll<HTMLElement>(tag)];
  return same.find((one) => nameOf(one) === name && !one.closest("dialog,[inert]")) ?? null;
}

/** Fill a panel anew without losing the place read and the control that has the focus. */
export function renew(panel: HTMLElement, fill: () => void): void {
  const top = panel.scrollTop;
  const active = document.activeElement as HTMLElement | null;
  const held = active && panel.contains(active) ? had(active) : null;
  fill();
  panel.scrollTop = top;
  if (!held) return;
  (panel.contains(held.element) ? held.element : likeOf(held, panel))?.focus();
}

let last: Had | null = null;
/** The heading holds the place of a control that may still be drawn. */
let standIn: HTMLElement | null = null;

function toHeading(): void {
  const heading = document.querySelector<HTMLElement>(".panel h1, .start h1, main h1");
  if (!heading) return;
  heading.tabIndex = -1;
  standIn = heading;
  heading.focus({ preventScroll: true });
}

function open(): boolean {
  return document.querySelector("dialog[open]") !== null;
}

/** What had the focus may be gone: its like takes it, else the heading. */
export function focusLost(): void {
  const active = document.activeElement;
  const waiting = standIn !== null && (active === standIn || !standIn.isConnected);
  if (open() || (active !== document.body && active !== null && !waiting)) return;
  const like = last && likeOf(last, document);
  if (like) {
    standIn = null;
    like.focus({ preventScroll: true });
  } else if (active === document.body || active === null) toHeading();
}

/** Watch over the focus from now on. */
export function keepFocus(): void {
  document.addEventListener("focusin", (event) => {
    const target = event.target as HTMLElement;
    if (target.closest("dialog") || target === standIn) return;
    [last, standIn] = [had(target), null];
  });
  for (const kind of ["pointerdown", "keydown"])
    document.addEventListener(kind, () => (standIn = null), { capture: true });
  const watch = new MutationObserver(() => {
    const gone = last !== null && !last.element.isConnected;
    if (gone && (document.activeElement === document.body || standIn !== null)) focusLost();
  });
  watch.observe(document.body, { childList: true, subtree: true });
}
