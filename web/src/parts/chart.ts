/** Draws a chart as one picture with words; the plotting library is fetched only then. */
export async function charted(
  host: HTMLElement,
  words: string,
  build: (plot: typeof import('@observablehq/plot')) => SVGElement | HTMLElement,
): Promise<void> {
  const plot = await import('@observablehq/plot');
  const made = build(plot);
  // With a legend before it the chart is the last picture of the figure.
  const svg = made instanceof SVGElement ? made : [...made.querySelectorAll('svg')].at(-1)!;
  for (const inner of made.querySelectorAll('[aria-label],[aria-description]')) {
    inner.removeAttribute('aria-label');
    inner.removeAttribute('aria-description');
  }
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', words);
  host.replaceChildren(made);
}
