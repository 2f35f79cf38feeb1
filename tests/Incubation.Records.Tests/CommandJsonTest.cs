using Incubation.TestKit;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Records.Benches;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Commands as JSON: each by its agreed name, and what is read is what was written.</summary>
public sealed class CommandJsonTest
{
    public static TheoryData<string> Names => [.. CommandJson.Kinds.Keys];

    [Fact]
    public void Kinds_AreThoseAgreed() => Assert.Equal(
        "acknowledge-alarm add-requests adopt-plan amend-result answer-question ask-for-labels "
        + "card-changed card-seen carry-over "
        + "change-due change-hands "
        + "change-priority change-ready cleared "
        + "close-batch comment-request confirm-amendment confirm-ready correct-report decline-amendment discarded "
        + "expect-probe give-up-request "
        + "keep-standing loaded mixed not-begun note-clock "
        + "note-planning note-restart note-step-not-known open-bench "
        + "order-repeat pause-intake propose-amendment put-back-in-use put-out-of-use read-started "
        + "reject-specimen release-result "
        + "result-entered revoke-fate "
        + "set-incubator set-lot-gate settle-identity several start-batch tell-critical temperature-measured undo "
        + "waive-telling "
        + "withdraw-request",
        string.Join(' ', CommandJson.Kinds.Keys));

    [Theory]
    [MemberData(nameof(Names))]
    public void Read_WhatWasWritten_IsTheSameCommand(string kind)
    {
        for (var seed = 1; seed <= 20; seed++)
        {
            var random = new Random(seed);
            var provenance = (Provenance)Any.Value(typeof(Provenance), random);
            var envelope = new CommandEnvelope((BenchCommand)Any.Value(CommandJson.Kinds[kind], random), provenance);
            var json = CommandJson.Write(envelope);
            var read = CommandJson.Read(json);
            Assert.Equal(Any.WriteOut(envelope), Any.WriteOut(read));
            Assert.Equal(json, CommandJson.Write(read));
            Assert.Contains($"\"kind\":\"{kind}\"", json, StringComparison.Ordinal);
        }
    }

    [Theory]
    [InlineData("null")]
    [InlineData("{}")]
    [InlineData("""{"command":{"kind":"nonsense"},"provenance":{}}""")]
    [InlineData("""{"command":{"request":"R1"},"provenance":null}""")]
    public void Read_WhatIsNoCommand_Throws(string json) => Assert.Throws<JsonException>(() => CommandJson.Read(json));
}
