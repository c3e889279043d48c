/** The OpenAPI document as a test reads it: operations, and a value for any schema. */

export type Json = Readonly<Record<string, unknown>>
export type Schema = Json & {
  readonly $ref?: string
  readonly type?: string | readonly string[]
  readonly enum?: readonly unknown[]
  readonly example?: unknown
  readonly properties?: Readonly<Record<string, Schema>>
  readonly required?: readonly string[]
  readonly items?: Schema
  readonly anyOf?: readonly Schema[]
  readonly allOf?: readonly Schema[]
  readonly format?: string
  readonly minimum?: number
  readonly minLength?: number
  readonly minItems?: number
}

export type Operation = {
  readonly summary: string
  readonly 'x-access': string
  readonly 'x-writes': boolean
  readonly 'x-by-token': boolean
  readonly responses: Json
  readonly requestBody?: { readonly content: Readonly<Record<string, { readonly schema: Schema }>> }
}

export type Document = {
  readonly openapi: string
  readonly paths: Readonly<Record<string, Readonly<Record<string, Operation>>>>
  readonly components: { readonly schemas: Readonly<Record<string, Schema>> }
}

export function readOperations(document: Document) {
  return Object.entries(document.paths).flatMap(([path, methods]) =>
    Object.entries(methods).map(([method, operation]) => ({
      line: `${method.toUpperCase()} ${path}`,
      method: method.toUpperCase(),
      path,
      operation,
    })),
  )
}

/** A body that the schema allows: every required property, optional ones left out. */
export function sampleBody(document: Document, operation: Operation): unknown {
  const schema = operation.requestBody?.content['application/json']?.schema
  return schema === undefined ? undefined : sample(document, schema)
}

function sample(document: Document, schema: Schema): unknown {
  if (schema.$ref !== undefined) {
    const name = schema.$ref.split('/').at(-1) ?? ''
    return sample(document, document.components.schemas[name] ?? {})
  }
  if (schema.example !== undefined) return schema.example
  if (schema.enum !== undefined) return schema.enum[0]
  const branch = schema.anyOf?.[0] ?? schema.allOf?.[0]
  if (branch !== undefined) return sample(document, branch)
  const [type] = [schema.type ?? 'object'].flat()
  if (type === 'object') return sampleObject(document, schema)
  if (type === 'array')
    return (schema.minItems ?? 0) > 0 && schema.items ? [sample(document, schema.items)] : []
  if (type === 'integer' || type === 'number') return schema.minimum ?? 1
  if (type === 'boolean') return true
  return schema.format === 'date-time' ? '2026-09-01T06:00:00Z' : 'sample'.padEnd(schema.minLength ?? 0, 'x')
}

function sampleObject(document: Document, schema: Schema): Json {
  const names = schema.required ?? []
  return Object.fromEntries(names.map((name) => [name, sample(document, schema.properties?.[name] ?? {})]))
}
