using Incubation.Simulation.Capacity;

namespace Incubation.Service.WhatIf;

/// <summary>
/// Answers questions of what a bench could do, one after another and in the background: benches come first.
/// </summary>
public sealed class WhatIfStudies : IDisposable
{
    private readonly SemaphoreSlim one = new(1, 1);

    /// <summary>Half of the machine, so that benches, screens and reports go on meanwhile.</summary>
    private static int Threads => Math.Max(1, Environment.ProcessorCount / 2);

    /// <summary>Answers a question; waits while another is answered.</summary>
    /// <param name="question">The bench and the demand.</param>
    /// <param name="order">How it is answered.</param>
    /// <param name="progress">Told which part of the work is done, 0 to 1; from any thread.</param>
    /// <param name="stopped">Stops it.</param>
    /// <exception cref="OperationCanceledException">It was stopped.</exception>
    public async Task<CapacityAnswer> AnswerAsync(CapacityQuestion question, StudyOrder order, Action<double> progress,
        CancellationToken stopped)
    {
        await one.WaitAsync(stopped);
        try
        {
            return await Task.Factory.StartNew(
                () => CapacityStudy.Answer(question, order, Threads, progress, stopped), stopped,
                    TaskCreationOptions.LongRunning, TaskScheduler.Default);
        }
        finally
        {
            one.Release();
        }
    }

    /// <inheritdoc/>
    public void Dispose() => one.Dispose();
}
