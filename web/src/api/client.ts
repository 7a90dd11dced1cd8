/** Talks to the server. Whatever it refuses is thrown as a `Refusal` with the problem and the remedy. */
import type { Progress } from './types';

export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    readonly problem: string,
    readonly remedy: string,
  ) {
    super(problem);
  }
}

export function refusalOf(error: unknown): Refusal {
  if (error instanceof Refusal) return error;
  return new Refusal(0, 'unforeseen', error instanceof Error ? error.message : String(error), 'load the page again');
}

async function answerOf(path: string, init: RequestInit = {}): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(path, { credentials: 'same-origin', ...init });
  } catch {
    throw new Refusal(0, 'out-of-reach', 'Firstpour does not answer', 'see that it still runs on the computer, then try again');
  }
  if (!answer.ok) {
    const told = await answer.json().catch(() => ({}));
    const refusal = new Refusal(answer.status, told.code ?? 'refused', told.problem ?? `it answered ${answer.status}`, told.remedy ?? 'try again');
    if (answer.status === 401 && !path.startsWith('/pair')) location.href = '/pair';
    throw refusal;
  }
  return answer;
}

async function answered<T>(path: string, init?: RequestInit): Promise<T> {
  const answer = await answerOf(path, init);
  return (answer.status === 204 ? undefined : await answer.json()) as T;
}

function withBody(method: string, body: unknown): RequestInit {
  return { method, headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) };
}

export const get = <T>(path: string): Promise<T> => answered<T>(path);
export const post = <T>(path: string, body?: unknown): Promise<T> => answered<T>(path, withBody('POST', body ?? {}));
export const put = <T>(path: string, body: unknown): Promise<T> => answered<T>(path, withBody('PUT', body));
export const patch = <T>(path: string, body: unknown): Promise<T> => answered<T>(path, withBody('PATCH', body));
export const remove = <T>(path: string): Promise<T> => answered<T>(path, { method: 'DELETE' });
export const send = <T>(path: string, form: FormData): Promise<T> => answered<T>(path, { method: 'POST', body: form });
export const bytes = async (path: string): Promise<ArrayBuffer> => (await answerOf(path)).arrayBuffer();

/** Follows the work on a job; give back how to stop following. */
export function follow(job: string, told: (progress: Progress) => void, lost: () => void): () => void {
  const source = new EventSource(`/api/jobs/${job}/progress`);
  const take = (event: MessageEvent<string>) => told(JSON.parse(event.data) as Progress);
  source.onmessage = take;
  source.addEventListener('progress', take as (event: Event) => void);
  source.onerror = lost;
  return () => source.close();
}
