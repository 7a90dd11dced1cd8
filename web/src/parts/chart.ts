/** Draws a chart as one picture with words; the plotting library is fetched only then. */
export async function charted(
  host: HTMLElement,
  words: string,
  build: (plot: typeof import('@observablehq/plot')) => SVGElement | HTMLElement,
): Promise<void> {
  const plot = await import('@observablehq/plot');
  const made = build(plot);
  const svg = made instanceof SVGElement ? made : made.querySelector('svg')!;
  for (const inner of svg.querySelectorAll('[aria-label],[aria-description]')) {
    inner.removeAttribute('aria-label');
    inner.removeAttribute('aria-description');
  }
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', words);
  host.replaceChildren(made);
}
