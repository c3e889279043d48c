/** `/openapi.json`: made from the operations that are served, so it cannot say anything else. */
import type { App } from './context.ts'

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
