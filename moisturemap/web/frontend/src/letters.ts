// Letters on the plan: as large as those of the page around it, which a reader may have enlarged.

const STANDARD_PX = 16;
const FAMILY = 'system-ui, "Segoe UI", Roboto, "Noto Sans", sans-serif';

/** Size of names and of what is said beside them, where nothing is enlarged [px]. */
export const FONT_PX = { large: 14, small: 12 };

/** How much larger than usual the reader wants letters. */
export function letterScale(): number {
  const wanted = parseFloat(getComputedStyle(document.documentElement).fontSize);
  return Number.isFinite(wanted) ? wanted / STANDARD_PX : 1;
}

export function fontOf(small: boolean): string {
  const size = (small ? FONT_PX.small : FONT_PX.large) * letterScale();
  return `${small ? 500 : 600} ${size}px ${FAMILY}`;
}
