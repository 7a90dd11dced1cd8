/** Where one is, from the address behind the `#`: `#/job/tide-pool/routes`. */
export interface Place {
  page: string;
  id: string;
  tab: string;
}

export function placeOf(hash: string): Place {
  const [page = '', id = '', tab = ''] = hash.replace(/^#\/?/, '').split('/').map(decodeURIComponent);
  return { page, id, tab };
}

export const here = $state<{ place: Place }>({ place: placeOf(location.hash) });
addEventListener('hashchange', () => (here.place = placeOf(location.hash)));

export function go(...steps: string[]): void {
  location.hash = `#/${steps.map(encodeURIComponent).join('/')}`;
}
