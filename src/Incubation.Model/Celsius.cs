namespace Incubation.Model;

/// <summary>A temperature, or a difference of temperatures, in degrees Celsius.</summary>
/// <param name="Degrees">Degrees Celsius.</param>
public readonly record struct Celsius(double Degrees)
{
    /// <inheritdoc/>
    public override string ToString() => FormattableString.Invariant($"{Degrees:0.0} °C");
}
