using System.Globalization;
using Incubation.Service.Requests;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Http.HttpResults;

namespace Incubation.Server.Api;

/// <summary>How the addresses for other programs say that something was not done, and why.</summary>
internal static class ApiProblems
{
    /// <summary>A problem with its sentence.</summary>
    public static ProblemHttpResult Problem(int status, string sentence) =>
        TypedResults.Problem(statusCode: status, detail: sentence);

    /// <summary>A problem that is worth trying again after so many seconds.</summary>
    public static ProblemHttpResult Later(HttpContext context, int status, string sentence, int seconds)
    {
        context.Response.Headers.RetryAfter = seconds.ToString(CultureInfo.InvariantCulture);
        return Problem(status, sentence);
    }

    /// <summary>No bench has this id.</summary>
    public static ProblemHttpResult NoBench(string bench) =>
        Problem(StatusCodes.Status404NotFound, Say.Of(ServiceWords.BenchUnknown, bench));

    /// <summary>What was sent in is wrong, each member with its sentences.</summary>
    public static ValidationProblem NotTaken(IReadOnlyList<IntakeFault> faults, string title) =>
        TypedResults.ValidationProblem(faults.GroupBy(fault => fault.Member)
            .ToDictionary(member => member.Key, member => member.Select(fault => fault.Sentence).ToArray()),
            detail: title, title: title);
}
