using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>What comes from others comes as it was looked at: by hash, or by an exact version.</summary>
public sealed partial class SupplyTest
{
    [Fact]
    public void Projects_Each_HaveALockFileThatNamesNoPlace()
    {
        foreach (var project in Projects())
        {
            var lockFile = Path.Combine(Path.GetDirectoryName(project)!, "packages.lock.json");
            Assert.True(File.Exists(lockFile), $"{project} has no lock file: dotnet restore Incubation.sln");
            Assert.DoesNotContain("://", File.ReadAllText(lockFile), StringComparison.Ordinal);
        }
    }

    /// <summary>What an SDK puts in by itself is of another version with each of its patches.</summary>
    [Fact]
    public void LockFiles_WhatAProjectAsksFor_StandsInItsOwnListOfVersions()
    {
        var versions = File.ReadAllText(Path.Combine(SourceTree.Root, "Directory.Packages.props"));
        var pinned = PinnedVersion().Matches(versions)
            .Select(match => match.Groups[1].Value).ToHashSet(StringComparer.OrdinalIgnoreCase);
        var asked = Projects().SelectMany(project => DirectPackage().Matches(
            File.ReadAllText(Path.Combine(Path.GetDirectoryName(project)!, "packages.lock.json"))))
            .Select(match => match.Groups[1].Value).ToHashSet(StringComparer.OrdinalIgnoreCase);
        Assert.Contains("NodaTime", asked);
        Assert.Subset(pinned, asked);
    }

    [Fact]
    public void Images_AreNamedByPatchOrDigest()
    {
        var text = File.ReadAllText(Path.Combine(SourceTree.Root, "deploy", "Containerfile"));
        var images = Image().Matches(text).Select(match => match.Groups[1].Value).ToList();
        Assert.Equal(2, images.Count);
        Assert.All(images, image => Assert.Matches(@":\d+\.\d+\.\d+(@sha256:[0-9a-f]{64})?$", image));
        Assert.Contains("HEALTHCHECK", text, StringComparison.Ordinal);
    }

    private static IEnumerable<string> Projects() => new[] { "src", "tests" }
        .SelectMany(folder => Directory.EnumerateFiles(
            Path.Combine(SourceTree.Root, folder), "*.csproj", SearchOption.AllDirectories));

    [GeneratedRegex("PackageVersion Include=\"([^\"]+)\"")]
    private static partial Regex PinnedVersion();

    [GeneratedRegex("\"([^\"]+)\": \\{\\s*\"type\": \"Direct\"")]
    private static partial Regex DirectPackage();

    [GeneratedRegex(@"^FROM (\S+)", RegexOptions.Multiline)]
    private static partial Regex Image();
}
