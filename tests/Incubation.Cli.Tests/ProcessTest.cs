using System.Diagnostics;
using Xunit;

namespace Incubation.Cli.Tests;

/// <summary>The program as another program calls it: its assembly's name, its exit codes, its two streams.</summary>
public sealed class ProcessTest : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public async Task Process_PlanThenCheckThenNonsense_ExitsAsTheContractSays()
    {
        var plan = _bench.PathOf("plan.json");
        Assert.Equal(ExitCode.Done, (await Run("plan", Bench.Morning, "--out", plan, "--iterations", "10")).Code);
        Assert.Equal(ExitCode.Done, (await Run("check", Bench.Morning, plan)).Code);
        var (code, output, error) = await Run("check", Bench.Morning, _bench.PathOf("none.json"));
        Assert.Equal(ExitCode.NotUnderstood, code);
        Assert.Equal("", output);
        Assert.Contains("none.json: no such file", error, StringComparison.Ordinal);
    }

    private static async Task<(int Code, string Output, string Error)> Run(params string[] args)
    {
        var start = new ProcessStartInfo("dotnet",
            [Path.Combine(AppContext.BaseDirectory, "Incubation.Cli.dll"), .. args])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        using var process = Process.Start(start)!;
        var output = process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        var error = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
        await process.WaitForExitAsync(TestContext.Current.CancellationToken);
        return (process.ExitCode, await output, await error);
    }
}
