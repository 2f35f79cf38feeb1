using System.Text.Json.Nodes;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Old forms become present ones; what cannot be understood is said, with its row.</summary>
public sealed class EventRegistryTest
{
    private abstract record Sample
    {
        /// <summary>Third form of an event that began as a name alone, then had a count, which became "many".</summary>
        public sealed record Counted(string Name, int Many) : Sample;

        public sealed record Unnamed : Sample;
    }

    private static readonly EventRegistry<Sample> Registry = new(
        [new("counted", 3, typeof(Sample.Counted))],
        [
            new("counted", 1, payload =>
            {
                payload["count"] = 1;
                return payload;
            }),
            new("counted", 2, payload =>
            {
                payload["many"] = payload["count"]!.DeepClone();
                payload.Remove("count");
                return payload;
            }),
        ]);

    [Theory]
    [InlineData(1, """{"name":"a"}""", 1)]
    [InlineData(2, """{"name":"a","count":5}""", 5)]
    [InlineData(3, """{"name":"a","many":7}""", 7)]
    public void Decode_AnyVersion_IsLiftedToThePresentForm(int version, string json, int many) =>
        Assert.Equal(new Sample.Counted("a", many),
            Registry.Decode(Rows.Of(new EncodedEvent("counted", version, json))));

    [Theory]
    [InlineData("weighed", 1, "{}", UnreadableEvent.UnknownType)]
    [InlineData("counted", 4, """{"name":"a","many":7}""", UnreadableEvent.NewerVersion)]
    [InlineData("counted", 0, """{"name":"a"}""", UnreadableEvent.NoUpcaster)]
    [InlineData("counted", 3, """{"name":"a","many":7,"more":1}""", UnreadableEvent.OtherForm)]
    [InlineData("counted", 3, """{"name":"a"}""", UnreadableEvent.OtherForm)]
    [InlineData("counted", 3, """{"name":null,"many":7}""", UnreadableEvent.OtherForm)]
    [InlineData("counted", 3, """{"name":"a","many":"7 or so"}""", UnreadableEvent.OtherForm)]
    [InlineData("counted", 3, "null", UnreadableEvent.OtherForm)]
    [InlineData("counted", 1, "[]", UnreadableEvent.OtherForm)]
    [InlineData("counted", 3, "{", UnreadableEvent.OtherForm)]
    public void Decode_NotUnderstood_NamesStreamRowAndType(string type, int version, string json, UnreadableEvent why)
    {
        var row = Rows.Of(new EncodedEvent(type, version, json));
        var unreadable = Assert.Throws<UnreadableEventException>(() => Registry.Decode(row));
        Assert.Equal(why, unreadable.Why);
        Assert.Equal(row.Header, unreadable.Header);
        Assert.Contains("Row 7 of the record 'clinic'", unreadable.Message, StringComparison.Ordinal);
        Assert.Contains($"'{type}' (version {version})", unreadable.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Encode_EventWithoutAName_Throws() =>
        Assert.Throws<ArgumentException>(() => Registry.Encode(new Sample.Unnamed()));

    [Theory]
    [InlineData("counted", 3)]
    [InlineData("counted", 0)]
    [InlineData("weighed", 1)]
    public void Registry_UpcasterThatLeadsNowhere_Throws(string name, int from) =>
        Assert.Throws<ArgumentException>(() => new EventRegistry<Sample>(
            [new("counted", 3, typeof(Sample.Counted))], [new(name, from, (JsonObject payload) => payload)]));
}
