using System.Reflection;
using Incubation.Server.Hosting;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;

namespace Incubation.Server.Tests.Hosting;

/// <summary>
/// No gate, guard, watch or keeper can be left out: what a part works with is required by its constructor, and what may
/// be absent is a part of its own that does nothing. A forgotten registration so fails at the start.
/// </summary>
public sealed class RequiredPartsTest(ServerFactory factory) : IClassFixture<ServerFactory>
{
    private static readonly NullabilityInfoContext Nullability = new();

    /// <summary>Rooms whose parts work with parts, and those whose parts stand beside them.</summary>
    private static IEnumerable<Assembly> Rooms { get; } =
    [
        .. typeof(ServerHost).Assembly.GetReferencedAssemblies()
            .Where(name => name.Name!.StartsWith("Incubation.", StringComparison.Ordinal)).Select(Assembly.Load)
            .Append(typeof(ServerHost).Assembly)
            .Where(room => room != typeof(Planning.Planner).Assembly),
    ];

    [Fact]
    public void Constructor_OfAnyPart_LeavesNoOtherPartOut()
    {
        var left = Rooms.SelectMany(room => room.GetTypes())
            .Where(type => type is { IsClass: true, IsAbstract: false } && !IsData(type))
            .SelectMany(type =>
                type.GetConstructors(BindingFlags.Instance | BindingFlags.Public | BindingFlags.NonPublic))
            .SelectMany(constructor => constructor.GetParameters())
            .Where(parameter => IsPart(parameter.ParameterType) && (parameter.HasDefaultValue || IsNullable(parameter)))
            .Select(parameter =>
                $"{parameter.Member.DeclaringType!.Name}({parameter.ParameterType.Name} {parameter.Name})");
        Assert.Empty(left);
    }

    [Fact]
    public void Container_EveryPartThatIsRegistered_CanBeMade()
    {
        using var scope = factory.Services.CreateScope();
        var registered = factory.Registered
            .Where(type => type is { IsGenericTypeDefinition: false } && Rooms.Contains(type.Assembly)).Distinct()
            .ToList();
        Assert.Contains(typeof(LotGateService), registered);
        Assert.Contains(typeof(ClockGuard), registered);
        Assert.All(registered, part => Assert.NotNull(scope.ServiceProvider.GetRequiredService(part)));
        Assert.NotEmpty(scope.ServiceProvider.GetServices<IHostedService>());
    }

    [Fact]
    public void Container_BesideTheBenches_HasTheirGuards()
    {
        Assert.IsType<HostAlarms>(factory.Services.GetRequiredService<IHostAlarms>());
        Assert.IsType<RecordsBenchLog>(factory.Services.GetRequiredService<IBenchLog>());
    }

    private static bool IsPart(Type type) =>
        typeof(Delegate).IsAssignableFrom(type)
        || (type.Namespace?.StartsWith("Incubation.", StringComparison.Ordinal) == true
            && (type.IsInterface || (type.IsClass && !IsData(type))));

    /// <summary>A record is what something is, not what works with it.</summary>
    private static bool IsData(Type type) => type.GetMethod("<Clone>$") is not null;

    private static bool IsNullable(ParameterInfo parameter) =>
        Nullability.Create(parameter).WriteState == NullabilityState.Nullable;
}
