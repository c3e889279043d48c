/** Text made piece by piece, sent as it is made: the reader's pace is ours, so that nothing piles up. */
export function streamText(
  pieces: AsyncGenerator<string>,
  headers: Readonly<Record<string, string>>,
): Response {
  const encoder = new TextEncoder()
  const body = new ReadableStream<Uint8Array>({
    async pull(controller) {
      const { done, value } = await pieces.next()
      if (done === true) controller.close()
      else controller.enqueue(encoder.encode(value))
    },
    async cancel() {
      await pieces.return(undefined)
    },
  })
  return new Response(body, { headers: { ...headers } })
}
