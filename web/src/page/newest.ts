/**
 * Asks one thing at a time and always the newest: while an answer is awaited further questions take each other's place.
 * What comes back is shown even when a newer question waits, so that a picture follows the hand.
 */
export function newest<Question, Answer>(
  put: (question: Question) => Promise<Answer>,
  show: (answer: Answer, question: Question) => void,
  fail: (fault: unknown) => void,
): (question: Question) => void {
  let waiting: Question | undefined;
  let busy = false;
  const go = async (question: Question): Promise<void> => {
    busy = true;
    try {
      show(await put(question), question);
    } catch (fault) {
      fail(fault);
    }
    busy = false;
    const next = waiting;
    waiting = undefined;
    if (next !== undefined) void go(next);
  };
  return (question) => {
    if (busy) waiting = question;
    else void go(question);
  };
}
