using NodaTime;

namespace Incubation.Service.Batches;

/// <summary>
/// What a person says of a thing in the readiness list: of a lot, a reader, or the incubator's temperature.
/// </summary>
/// <param name="Lot">Kit and buffer of this lot were taken out.</param>
/// <param name="Reader">This reader has checked itself.</param>
/// <param name="Celsius">The incubator's thermometer shows this.</param>
/// <param name="At">Since when; null for now.</param>
public sealed record ReadyText(string? Lot = null, int? Reader = null, double? Celsius = null, Instant? At = null);
