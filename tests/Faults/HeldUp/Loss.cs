namespace Incubation.Faults.HeldUp;

/// <summary>
/// Cartridges lost, as plans are judged (design, "What a plan is"): first those with no specimen left for a repeat,
/// then urgent ones, then patients', then all.
/// </summary>
internal readonly record struct Loss(int NoSpecimen, int Urgent, int Patients, int All) : IComparable<Loss>
{
    public static Loss None { get; }

    public static Loss operator +(Loss one, Loss other) => new(one.NoSpecimen + other.NoSpecimen,
        one.Urgent + other.Urgent, one.Patients + other.Patients, one.All + other.All);

    public static bool operator <(Loss one, Loss other) => one.CompareTo(other) < 0;

    public static bool operator >(Loss one, Loss other) => one.CompareTo(other) > 0;

    /// <inheritdoc/>
    public int CompareTo(Loss other) => NoSpecimen != other.NoSpecimen ? NoSpecimen.CompareTo(other.NoSpecimen)
        : Urgent != other.Urgent ? Urgent.CompareTo(other.Urgent)
        : Patients != other.Patients ? Patients.CompareTo(other.Patients) : All.CompareTo(other.All);

    /// <inheritdoc/>
    public override string ToString() =>
        $"{All} ({NoSpecimen} without specimen, {Urgent} urgent, {Patients} patients')";
}
