declare module 'psychrolib' {
  const library: {
    readonly SI: number
    SetUnitSystem(system: number): void
    GetVapPresFromRelHum(tempC: number, humidity: number): number
    GetTDewPointFromRelHum(tempC: number, humidity: number): number
  }
  export default library
}
