/** The media type of a `Content-Type`, without parameters, lower case; `null` if none was sent, or an empty one. */
export function mediaTypeOf(contentType: string | null): string | null {
  const mediaType = contentType?.split(';')[0]?.trim().toLowerCase() ?? ''
  return mediaType === '' ? null : mediaType
}
