using CsCheck;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Every event survives the way to the disk and back.</summary>
public sealed class EventFormsTest
{
    public static TheoryData<Type> BenchEventTypes => [.. Any.Cases(typeof(BenchEvent))];

    public static TheoryData<Type> ClinicEventTypes => [.. Any.Cases(typeof(ClinicEvent))];

    public static TheoryData<Type> UnionTypes => [.. Unions.All.Keys];

    [Theory]
    [MemberData(nameof(BenchEventTypes))]
    public void BenchEvent_AnyValue_ReadsBackEqual(Type type) => ReadsBackEqual(BenchEvents.Registry, type);

    [Theory]
    [MemberData(nameof(ClinicEventTypes))]
    public void ClinicEvent_AnyValue_ReadsBackEqual(Type type) => ReadsBackEqual(ClinicEvents.Registry, type);

    [Theory]
    [MemberData(nameof(UnionTypes))]
    public void Union_EveryCase_HasAName(Type union) =>
        Assert.Equal(
            Any.Cases(union).OrderBy(type => type.Name, StringComparer.Ordinal),
            Unions.All[union].Values.OrderBy(type => type.Name, StringComparer.Ordinal));

    [Fact]
    public void Registries_EveryEvent_HasAForm()
    {
        Assert.Equal(
            Any.Cases(typeof(BenchEvent)).OrderBy(type => type.Name, StringComparer.Ordinal),
            BenchEvents.Registry.Forms.Select(form => form.Type).OrderBy(type => type.Name, StringComparer.Ordinal));
        Assert.Equal(
            Any.Cases(typeof(ClinicEvent)).OrderBy(type => type.Name, StringComparer.Ordinal),
            ClinicEvents.Registry.Forms.Select(form => form.Type).OrderBy(type => type.Name, StringComparer.Ordinal));
    }

    /// <summary>Whoever reads a stream for secrets alone misses none that an event sets.</summary>
    [Theory]
    [MemberData(nameof(ClinicEventTypes))]
    public void ClinicEvent_ThatSetsASecret_IsAmongThoseThatTellOfThem(Type type) => Gen.Int.Sample(seed =>
        Assert.True(SecretsState.SetIn((ClinicEvent)Any.Value(type, new Random(seed))) is null
            || SecretsState.Told.Contains(type)), iter: 20);

    private static void ReadsBackEqual<TEvent>(EventRegistry<TEvent> registry, Type type)
        where TEvent : class =>
        Gen.Int.Sample(
            seed =>
            {
                var @event = (TEvent)Any.Value(type, new Random(seed));
                var encoded = registry.Encode(@event);
                var decoded = registry.Decode(Rows.Of(encoded));
                Assert.Equal(Any.WriteOut(@event), Any.WriteOut(decoded));
                Assert.Equal(encoded, registry.Encode(decoded));
            },
            iter: 200);
}
