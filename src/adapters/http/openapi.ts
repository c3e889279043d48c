/** `/openapi.json`: made from the operations that are served, so it cannot say anything else. */
import type { App } from './context.ts'
import { problem } from './schemas/problem.ts'
import { nativeRecords, readingsAnswer } from './schemas/readings.ts'

export function describeApi(app: App): void {
  const registry = app.openAPIRegistry
  registry.registerComponent('securitySchemes', 'session', {
    type: 'apiKey',
    in: 'cookie',
    name: '__Host-beadwatch',
    description: 'A person at a browser',
  })
  registry.registerComponent('securitySchemes', 'bearer', {
    type: 'http',
    scheme: 'bearer',
    description: 'A personal token, or the host token',
  })
  app.doc31('/openapi.json', {
    openapi: '3.1.0',
    info: {
      title: 'Beadwatch',
      version: '1',
      description:
        'Watches closed-loop dryers on parked piston aircraft engines. Times are RFC 3339 in UTC; ' +
        'problems follow RFC 9457; what is not yours and what is not there answer alike.',
    },
    security: [{ session: [] }, { bearer: [] }],
  })
}

/** Hubs post whatever they post, so this call has no validator in front; here is what it takes and gives. */
export function describeReadings(app: App): void {
  const registry = app.openAPIRegistry
  registry.registerComponent('securitySchemes', 'sourceKey', {
    type: 'http',
    scheme: 'bearer',
    description: 'The key of a source; also as the password of Basic, or as ?key= where the source allows it',
  })
  const text = { schema: { type: 'string' as const } }
  registry.registerPath({
    method: 'post',
    path: '/v1/readings',
    summary: 'Take readings in from a hub, natively or by the recipe of its source',
    'x-access': 'source',
    'x-writes': true,
    'x-by-token': false,
    security: [{ sourceKey: [] }],
    request: {
      body: {
        required: true,
        content: {
          'application/json': { schema: nativeRecords },
          'application/senml+json': text,
          'application/x-www-form-urlencoded': text,
          'text/csv': text,
        },
      },
    },
    responses: {
      200: {
        description: 'What became of each record',
        content: { 'application/json': { schema: readingsAnswer } },
      },
      default: {
        description: 'What went wrong, RFC 9457',
        content: { 'application/problem+json': { schema: problem } },
      },
    },
  })
}
